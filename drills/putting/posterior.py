"""What records say of a putter, and how surely: the posterior over start line and pace, on a grid.

Given a start line, the rows of a test depend on pace alone, and the other way round, but for the balls that came within
reach of a hole; so a grid over all four parameters is laid from two small ones. The priors are wide and normal, of
spreads on a log scale; common practice, no source.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from drills.putting.fit import STARTS, Fit, best_of
from drills.putting.model import LINE, LINE_BIAS, PACE, PACE_BIAS, Array, Evidence
from drills.putting.observations import Record

# Nineteen players of twenty, of all levels, are thought to lie within these: a start-line error of 0.5 to 6.5 degrees,
# pace of 1.7 to 58 %, biases of up to 2 degrees and 16 %.
PRIOR = np.array([np.log(1.8), 0.0, np.log(0.1), 0.0])
PRIOR_SD = np.array([0.65, 1.0, 0.9, 0.08])
LOW, HIGH = PRIOR - 3.5 * PRIOR_SD, PRIOR + 3.5 * PRIOR_SD
COARSE, FINE = (9, 7, 9, 7), (13, 9, 13, 9)  # places of each parameter
REACH = 4.0  # standard deviations
DEAD = 1e-3  # what is left of the top where a marginal has died away
ROUNDS = 5
DRAWS = 200


@dataclass(frozen=True)
class Grid:
    """The places of the four parameters, and the weight of each meeting of them (four axes), which add up to 1."""

    places: list[Array]
    weights: Array

    def marginal(self, at: int) -> tuple[Array, Array]:
        """The places of one parameter, in order, and the weight of each."""
        mass: Array = self.weights.sum(axis=tuple(axis for axis in range(4) if axis != at))
        return self.places[at], mass


@dataclass(frozen=True)
class Estimate:
    """The middle of a marginal posterior, and where 95 % of it lies."""

    middle: float
    low: float
    high: float


@dataclass(frozen=True)
class Posterior:
    """All that records say of a putter. What `free` calls untold is as before any record."""

    fit: Fit
    grid: Grid
    free: NDArray[np.bool_]

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
        weights = self.grid.weights
        even = (np.arange(DRAWS) + 0.5) / DRAWS
        flat = np.searchsorted(np.cumsum(weights), even).clip(max=weights.size - 1)
        at = np.unravel_index(flat, weights.shape)
        return np.stack([places[index] for places, index in zip(self.grid.places, at, strict=True)], axis=1)


def posterior(records: Iterable[Record]) -> Posterior:
    """What records say. Raises ValueError for none."""
    evidence = Evidence(records)
    best = best_of(evidence, STARTS)
    low, high = fitted_box(evidence, *around(best))
    return Posterior(best, weighed(evidence, low, high, FINE), evidence.free)


def fitted_box(evidence: Evidence, low: Array, high: Array) -> tuple[Array, Array]:
    """A box in which the posterior dies away, and no larger than that: coarse grids, widened until it does."""
    for _ in range(ROUNDS):
        coarse = weighed(evidence, low, high, COARSE)
        lower, higher = np.clip(np.transpose([alive(*coarse.marginal(at)) for at in range(4)]), LOW, HIGH)
        if (low <= lower).all() and (higher <= high).all():
            return lower, higher
        low, high = np.minimum(low, lower), np.maximum(high, higher)
    return low, high


def alive(places: Array, mass: Array) -> tuple[float, float]:
    """The ends of what is alive of a marginal, with a step to spare; two steps on where it is alive at the end."""
    step = places[1] - places[0]
    first, last = np.flatnonzero(mass > DEAD * mass.max())[[0, -1]]
    return places[first] - step * (1 + (first == 0)), places[last] + step * (1 + (last == len(mass) - 1))


def around(best: Fit) -> tuple[Array, Array]:
    """Some standard deviations to either side of the likeliest, as sharp as it is there."""
    sharp = best.sharpness + np.diag(1 / PRIOR_SD**2)
    widths, ways = np.linalg.eigh(sharp)
    spread = REACH * np.sqrt((ways**2 / np.maximum(widths, 1)).sum(axis=1))
    middle = np.clip(best.theta, LOW + spread / 2, HIGH - spread / 2)
    return np.maximum(LOW, middle - spread), np.minimum(HIGH, middle + spread)


def weighed(evidence: Evidence, low: Array, high: Array, numbers: Sequence[int]) -> Grid:
    """The grid over a box, so many places along each side, with its weights."""
    places = [np.linspace(*ends) for ends in zip(low, high, numbers, strict=True)]
    lines, paces = sets_of(places, LINE, LINE_BIAS), sets_of(places, PACE, PACE_BIAS)
    logs = evidence.over_grid(lines, paces) + prior(lines)[:, None] + prior(paces)
    weights = np.exp(logs - logs.max())
    return Grid(places, (weights / weights.sum()).reshape(numbers))


def sets_of(places: list[Array], spread: int, bias: int) -> Array:
    """Every spread with every bias, in their columns; the others as likely as they are before any record."""
    spreads, biases = places[spread], places[bias]
    sets = np.tile(PRIOR, (len(spreads) * len(biases), 1))
    sets[:, spread], sets[:, bias] = np.repeat(spreads, len(biases)), np.tile(biases, len(spreads))
    return sets


def prior(sets: Array) -> Array:
    """The log of how likely putters are before any record, up to a constant."""
    logs: Array = -0.5 * (((sets - PRIOR) / PRIOR_SD) ** 2).sum(axis=1)
    return logs


def estimate(places: Array, mass: Array) -> Estimate:
    """The middle and the 95 % of a marginal, whose log is read between the places of its grid by a cubic spline."""
    fine = np.linspace(places[0], places[-1], 400)
    density = np.exp(CubicSpline(places, np.log(np.maximum(mass, mass.max() * 1e-12)))(fine))
    below = np.concatenate([[0.0], np.cumsum(density[1:] + density[:-1])])
    low, middle, high = np.interp(np.array([0.025, 0.5, 0.975]) * below[-1], below, fine)
    return Estimate(float(middle), float(low), float(high))


def exponential(logs: Estimate) -> Estimate:
    """An estimate on a log scale, as it is."""
    return Estimate(*(float(np.exp(value)) for value in (logs.middle, logs.low, logs.high)))
