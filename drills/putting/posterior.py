"""What records say of a putter, and how surely: the posterior over start line and pace, on a grid.

Given a start line, the rows of a test depend on pace alone, and the other way round, but for the balls that came within
reach of a hole; so a grid over both is laid from two small ones. Spreads are as likely at any size on a log scale,
biases lie around none. All priors are wide; common practice, no source.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from drills.putting.fit import STARTS, Fit, best_of
from drills.putting.model import LINE, LINE_BIAS, PACE, PACE_BIAS, Array, Evidence
from drills.putting.record import Record

Flags = NDArray[np.bool_]
# Where a parameter may lie at all, and the spread of the priors of the biases.
LOW = np.array([np.log(0.3), -5.0, np.log(0.015), -0.5])
HIGH = np.array([np.log(10.0), 5.0, np.log(0.6), 0.5])
PRIOR = np.array([np.inf, 1.5, np.inf, 0.2])
PLACES = np.array([17, 9, 17, 9])
REACH = 4.5  # standard deviations
SHARP_ENOUGH, NARROWEST = 0.05, 1e-3
DEAD = 2e-3  # what is left of the top where a marginal has died away
ROUNDS = 4
DRAWS = 200


@dataclass(frozen=True)
class Grid:
    """Sets of start line (lines, 4) and of pace (paces, 4), and the weight of each pair, which add up to 1."""

    lines: Array
    paces: Array
    weights: Array

    def marginal(self, at: int) -> tuple[Array, Array]:
        """The places of one parameter, in order, and the weight of each."""
        sets, over = (self.lines, 1) if at in (LINE, LINE_BIAS) else (self.paces, 0)
        places, back = np.unique(sets[:, at], return_inverse=True)
        mass: Array = np.bincount(back, self.weights.sum(axis=over)).astype(float)
        return places, mass


@dataclass(frozen=True)
class Estimate:
    """The middle of a marginal posterior, and where 95 % of it lies."""

    middle: float
    low: float
    high: float


@dataclass(frozen=True)
class Posterior:
    """All that records say of a putter."""

    fit: Fit
    grid: Grid
    free: Flags

    @cached_property
    def line_deg(self) -> Estimate:
        """The start-line error."""
        return exponential(estimate(*self.grid.marginal(LINE)))

    @cached_property
    def line_bias_deg(self) -> Estimate:
        """The start-line bias, push positive."""
        return estimate(*self.grid.marginal(LINE_BIAS))

    @cached_property
    def pace(self) -> Estimate:
        """The pace error, as a share of the length."""
        return exponential(estimate(*self.grid.marginal(PACE)))

    @cached_property
    def pace_bias(self) -> Estimate:
        """The pace bias, as a share of the length, too long positive."""
        return estimate(*self.grid.marginal(PACE_BIAS))

    @cached_property
    def draws(self) -> Array:
        """Putters drawn from it evenly, always the same ones: (draws, 4)."""
        places = (np.arange(DRAWS) + 0.5) / DRAWS
        flat = np.searchsorted(np.cumsum(self.grid.weights.ravel()), places).clip(max=self.grid.weights.size - 1)
        line, pace = np.unravel_index(flat, self.grid.weights.shape)
        return self.grid.lines[line] + self.grid.paces[pace]


def posterior(records: Sequence[Record]) -> Posterior:
    """What records say. Raises ValueError for none."""
    evidence = Evidence(records)
    if not (evidence.rows.putts or evidence.rows.starts):
        raise ValueError("no balls, no putter")
    best = best_of(evidence, STARTS)
    low, high = around(best)
    for _ in range(ROUNDS):
        grid = weighed(evidence, axes(evidence, low, high))
        open_low, open_high = open_ends(grid, low, high)
        if not (open_low.any() or open_high.any()):
            break
        wider = (high - low) / 2
        low, high = np.maximum(LOW, low - wider * open_low), np.minimum(HIGH, high + wider * open_high)
    return Posterior(best, grid, evidence.free)


def around(best: Fit) -> tuple[Array, Array]:
    """Some standard deviations to either side of the likeliest, as sharp as it is there."""
    sharp = best.sharpness + np.diag(1 / PRIOR**2)
    widths, ways = np.linalg.eigh(sharp)
    spread = np.sqrt((ways**2 / np.maximum(widths, SHARP_ENOUGH)).sum(axis=1))
    low, high = np.clip(best.theta - REACH * spread, LOW, HIGH), np.clip(best.theta + REACH * spread, LOW, HIGH)
    return np.minimum(low, HIGH - NARROWEST), np.maximum(high, LOW + NARROWEST)


def open_ends(grid: Grid, low: Array, high: Array) -> tuple[Flags, Flags]:
    """Where the posterior has not died away at the end of a box that could still be wider."""
    masses = [grid.marginal(at)[1] for at in range(4)]
    alive = np.array([[len(mass) > 1 and mass[end] > DEAD * mass.max() for mass in masses] for end in (0, -1)])
    return alive[0] & (low > LOW), alive[1] & (high < HIGH)


def axes(evidence: Evidence, low: Array, high: Array) -> list[Array]:
    """The places of each parameter; of a bias that nothing is said of, only none."""
    free = evidence.free
    return [
        np.linspace(low[at], high[at], PLACES[at]) if free[at] or at in (LINE, PACE) else np.zeros(1) for at in range(4)
    ]


def weighed(evidence: Evidence, places: list[Array]) -> Grid:
    """The grid over these places with its weights."""
    lines, paces = pairs(places[LINE], places[LINE_BIAS], LINE), pairs(places[PACE], places[PACE_BIAS], PACE)
    logs = evidence.over_grid(lines, paces)
    logs += -0.5 * ((lines / PRIOR) ** 2).sum(axis=1)[:, None] - 0.5 * ((paces / PRIOR) ** 2).sum(axis=1)[None, :]
    weights = np.exp(logs - logs.max())
    return Grid(lines, paces, weights / weights.sum())


def pairs(spreads: Array, biases: Array, first: int) -> Array:
    """Every spread with every bias, in their columns."""
    sets = np.zeros((len(spreads) * len(biases), 4))
    sets[:, first], sets[:, first + 1] = (column.ravel() for column in np.meshgrid(spreads, biases, indexing="ij"))
    return sets


def estimate(places: Array, mass: Array) -> Estimate:
    """The middle and the 95 % of a marginal, between the places of its grid."""
    if len(places) == 1:
        return Estimate(*(float(places[0]),) * 3)
    edges = np.concatenate([[0.0], np.cumsum(mass)])
    half = (places[1] - places[0]) / 2
    bounds = np.concatenate([[places[0] - half], (places[1:] + places[:-1]) / 2, [places[-1] + half]])
    low, middle, high = np.interp([0.025, 0.5, 0.975], edges, bounds)
    return Estimate(float(middle), float(low), float(high))


def exponential(logs: Estimate) -> Estimate:
    """An estimate on a log scale, as it is."""
    return Estimate(*(float(np.exp(value)) for value in (logs.middle, logs.low, logs.high)))
