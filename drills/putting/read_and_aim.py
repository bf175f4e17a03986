"""The start line of the stroke, from gates, beside the line at the hole: what lies between them is read or aim.

A ball goes through a gate wherever the hole is, so a gate shows the stroke alone. At a hole the line is that of the
stroke, and off by as much as the putt was misread or the putter aimed elsewhere: so it is never narrower, and either as
good as the same, or apart. Both are as likely before any ball; what the balls say decides how far each informs the
other, as in a mixture prior: Mitchell & Beauchamp (1988), J. Am. Stat. Assoc. 83, 1023-1032.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.stats import halfnorm, norm

from drills.putting.model import LINE, LINE_BIAS, Array
from drills.putting.model_checks import is_wide
from drills.putting.posterior import Estimate, Posterior, exponentiate, fine_density, quantiles_of
from drills.putting.prior import PRIOR_MEAN, PRIOR_SD

SURE = 0.97  # of two independent posteriors: read or aim is named; common practice, no source
LIKELY = 0.5  # of being apart: below it all balls are read together; common practice, no source
PLACES = 161
# Standard deviations before any ball, common practice, no source: of a line that is as good as the same, and of one
# that is apart; the first pair on the log scale of a spread, the second in degrees.
SAME, APART = {LINE: 0.1, LINE_BIAS: 0.15}, {LINE: 0.8, LINE_BIAS: 0.8}


@dataclass(frozen=True)
class LineAtHole:
    """The line of putts at a hole beside that of the stroke: its error, and what the difference is."""

    line: Estimate
    stroke_bias: Estimate | None
    is_wider: bool
    shift_deg: float  # to the push side, 0 where it is not clear
    agrees: bool


@dataclass(frozen=True)
class Reconciled:
    """One parameter of the line of the stroke, informed by the one at the hole, and what speaks for a difference."""

    places: Array
    density: Array
    apart: float  # how likely the two are apart
    above: float  # how likely the one at the hole is the greater, each by its own balls
    shift: float  # and how much greater it is, on average


@dataclass(frozen=True)
class LineComparison:
    """Two posteriors of the line, from different balls, and what the difference between them is."""

    stroke: Posterior
    at_hole: Posterior

    @cached_property
    def spread(self) -> Reconciled:
        """The log of the spread: a misread can only widen it."""
        return reconcile(self.stroke, self.at_hole, LINE, halfnorm.pdf)

    @cached_property
    def bias(self) -> Reconciled | None:
        """The bias in degrees; None where sides were not noted."""
        if not (self.stroke.identifiable[LINE_BIAS] and self.at_hole.identifiable[LINE_BIAS]):
            return None
        return reconcile(self.stroke, self.at_hole, LINE_BIAS, norm.pdf)

    @property
    def is_wider(self) -> bool:
        """Whether the line at the hole is clearly wilder than the stroke."""
        return self.spread.above >= SURE and not is_wide(self.at_hole.line_deg)

    @property
    def is_shifted(self) -> bool:
        """Whether it is clearly to one side of the stroke's."""
        return self.bias is not None and abs(2 * self.bias.above - 1) >= SURE

    @property
    def differs(self) -> bool:
        """Whether read or aim is to be named."""
        return self.is_wider or self.is_shifted

    @property
    def agrees(self) -> bool:
        """Whether they are rather the same than not, so that all balls may be read together."""
        return not self.differs and max(each.apart for each in (self.spread, self.bias) if each) < LIKELY

    @property
    def line_deg(self) -> Estimate:
        """The start-line error of the stroke: by the gate alone unless the putts at the hole agree with it."""
        if not self.agrees:
            return self.stroke.line_deg
        return exponentiate(quantiles_of(self.spread.places, self.spread.density))

    @property
    def line_bias_deg(self) -> Estimate | None:
        """The bias of the stroke, likewise; None where sides at the gate were not noted."""
        if self.bias and self.agrees:
            return quantiles_of(self.bias.places, self.bias.density)
        return self.stroke.line_bias_deg if self.stroke.identifiable[LINE_BIAS] else None

    @property
    def line_at_hole(self) -> LineAtHole:
        """What is shown beside the stroke, by the putts at the hole alone."""
        shift_deg = self.bias.shift if self.bias and self.is_shifted else 0.0
        return LineAtHole(self.at_hole.line_deg, self.line_bias_deg, self.is_wider, shift_deg, self.agrees)


def reconcile(stroke: Posterior, at_hole: Posterior, at: int, apart: Callable[..., Array]) -> Reconciled:
    """One parameter of the stroke, under a prior by which it is the same at the hole or apart, as likely as not.

    `apart` is the density of the difference where they are apart. The posterior at the hole is taken without its own
    prior, which the stroke and the difference replace.
    """
    some, others = (fine_density(*each.grid.marginal(at)) for each in (stroke, at_hole))
    places = np.linspace(min(some[0][0], others[0][0]), max(some[0][-1], others[0][-1]), PLACES)
    mine, theirs = (np.interp(places, *each, left=0.0, right=0.0) for each in (some, others))
    alone, differences = mine[:, None] * theirs, places - places[:, None]  # (stroke, at the hole)
    together = alone / norm.pdf(places, PRIOR_MEAN[at], PRIOR_SD[at])
    same, other = together * norm.pdf(differences, 0, SAME[at]), together * apart(differences, 0, APART[at])
    both = same + other
    return Reconciled(
        places,
        density=both.sum(axis=1),
        apart=float(other.sum() / both.sum()),
        above=float((alone * (np.sign(differences) + 1)).sum() / 2 / alone.sum()),
        shift=float((alone * differences).sum() / alone.sum()),
    )
