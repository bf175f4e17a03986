"""The start line of the stroke, from gates, beside the line at the hole: what lies between them is read or aim.

A ball goes through a gate wherever the hole is, so a gate shows the stroke alone. At a hole the line is that of the
stroke, and off by as much as the putt was misread or the putter aimed elsewhere.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from drills.putting.model import LINE, LINE_BIAS, Array
from drills.putting.posterior import Estimate, Posterior

SURE = 0.95  # of the draws: a misread can only make the line wilder
EITHER_SIDE = (0.025, 0.975)  # the quantiles between which a shift of 0 is none
AGREES = (0.1, 0.9)  # the narrower ones between which it is taken as none; common practice, no source


@dataclass(frozen=True)
class LineAtHole:
    """The line of putts at a hole beside that of the stroke: its error, and what the difference is."""

    line: Estimate
    is_wider: bool
    shift_deg: float  # to the push side, 0 where it is not clear
    agrees: bool


@dataclass(frozen=True)
class LineComparison:
    """Two posteriors of the line, from different balls, and what the difference between them is."""

    stroke: Posterior
    at_hole: Posterior

    @cached_property
    def spreads(self) -> Array:
        """Draws of the log of how many times wider the line is at the hole."""
        return differences(self.at_hole.draws[:, LINE], self.stroke.draws[:, LINE])

    @cached_property
    def biases(self) -> Array | None:
        """Draws of how many degrees further to the push side it is at the hole; None where sides were not noted."""
        if not (self.stroke.identifiable[LINE_BIAS] and self.at_hole.identifiable[LINE_BIAS]):
            return None
        return differences(self.at_hole.draws[:, LINE_BIAS], self.stroke.draws[:, LINE_BIAS])

    @property
    def is_wider(self) -> bool:
        """Whether the line at the hole is clearly wilder than the stroke."""
        return float((self.spreads > 0).mean()) >= SURE

    @property
    def is_shifted(self) -> bool:
        """Whether it is clearly to one side of the stroke's."""
        return self.biases is not None and excludes_zero(self.biases, EITHER_SIDE)

    @property
    def agrees(self) -> bool:
        """Whether nothing speaks for a difference, so that all balls may be read together."""
        return not any(excludes_zero(draws, AGREES) for draws in (self.spreads, self.biases) if draws is not None)

    @property
    def line_at_hole(self) -> LineAtHole:
        """What is shown beside the stroke."""
        shift_deg = float(np.median(self.biases)) if self.biases is not None and self.is_shifted else 0.0
        return LineAtHole(self.at_hole.line_deg, self.is_wider, shift_deg, self.agrees)


def differences(some: Array, others: Array) -> Array:
    """All differences of some draws and independent others."""
    every: Array = np.subtract.outer(some, others).ravel()
    return every


def excludes_zero(draws: Array, quantiles: tuple[float, float]) -> bool:
    """Whether all between two quantiles lies to one side of 0."""
    low, high = np.quantile(draws, quantiles)
    return bool(low > 0 or high < 0)
