"""The posterior distribution of a putter's start line and pace, on a grid.

Most rows of the likelihood depend on the start line alone or on pace alone, so a grid over all four parameters is
combined from two small ones. The priors are wide and normal, those of the two errors on a log scale; common practice,
no source.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from drills.putting.fit import STARTS, Fit, maximise
from drills.putting.model import LINE, LINE_BIAS, PACE, PACE_BIAS, Array, Likelihood
from drills.putting.normal import HEAVY, NORMAL, Tails
from drills.putting.observations import Observation, is_measured
from drills.putting.prior import PRIOR_MEAN, PRIOR_SD, log_prior

LOW, HIGH = PRIOR_MEAN - 3.5 * PRIOR_SD, PRIOR_MEAN + 3.5 * PRIOR_SD
COARSE, FINE = 2 * (7, 7), 2 * (9, 11)  # values of a spread and of a bias, twice; a bias has the longer tails
REACH_SD = 5.0  # standard deviations
NEGLIGIBLE = 1e-3  # a marginal ends where it falls below this share of its maximum
MAX_ROUNDS = 5
DRAWS = 200


@dataclass(frozen=True)
class Grid:
    """The values of the four parameters, and the weight of each combination (four axes); weights add up to 1."""

    places: list[Array]
    weights: Array

    def marginal(self, at: int) -> tuple[Array, Array]:
        """The values of one parameter, in order, and the weight of each."""
        mass: Array = self.weights.sum(axis=tuple(axis for axis in range(4) if axis != at))
        return self.places[at], mass


@dataclass(frozen=True)
class Estimate:
    """The median of a marginal posterior, and its 95 % interval."""

    middle: float
    low: float
    high: float

    @property
    def sign(self) -> int:
        """1 where the whole interval lies above 0, -1 where it lies below, else 0."""
        return (self.low > 0) - (self.high < 0)


@dataclass(frozen=True)
class Posterior:
    """The posterior of a putter. A parameter that is not `identifiable` has its prior distribution."""

    fit: Fit
    grid: Grid
    identifiable: NDArray[np.bool_]
    tails: Tails = NORMAL  # of pace

    @cached_property
    def line_deg(self) -> Estimate:
        """The start-line error."""
        return exponentiate(summarise_marginal(*self.grid.marginal(LINE)))

    @cached_property
    def line_bias_deg(self) -> Estimate:
        """The start-line bias, push positive."""
        return summarise_marginal(*self.grid.marginal(LINE_BIAS))

    @cached_property
    def pace(self) -> Estimate:
        """The pace error, as a share of the length."""
        return exponentiate(summarise_marginal(*self.grid.marginal(PACE)))

    @cached_property
    def pace_bias(self) -> Estimate:
        """The pace bias, as a share of the length, too long positive."""
        return summarise_marginal(*self.grid.marginal(PACE_BIAS))

    @cached_property
    def draws(self) -> Array:
        """Systematic draws from the grid, always the same ones: (draws, 4)."""
        weights = self.grid.weights
        even = (np.arange(DRAWS) + 0.5) / DRAWS
        flat = np.searchsorted(np.cumsum(weights), even).clip(max=weights.size - 1)
        at = np.unravel_index(flat, weights.shape)
        return np.stack([places[index] for places, index in zip(self.grid.places, at, strict=True)], axis=1)


def compute_posterior(observations: Iterable[Observation]) -> Posterior:
    """The posterior under some observations. Raises ValueError for none."""
    likelihood, best, tails = likeliest_tails(Likelihood(observations))
    low, high = support_box(likelihood, *initial_box(best))
    return Posterior(best, weigh_grid(likelihood, low, high, FINE), likelihood.identifiable, tails)


def likeliest_tails(normal: Likelihood) -> tuple[Likelihood, Fit, Tails]:
    """Normal or heavy tails of pace, whichever makes the measured balls likelier, and the putter that fits best."""
    best = maximise(normal, STARTS)
    if not any(is_measured(row) for row in normal.rows.putts):
        return normal, best, NORMAL
    heavy = normal.with_tails(HEAVY)
    other = maximise(heavy, best.theta[None])
    if other.log_likelihood <= best.log_likelihood:
        return normal, best, NORMAL
    return heavy, other, HEAVY


def support_box(likelihood: Likelihood, low: Array, high: Array) -> tuple[Array, Array]:
    """The smallest box that holds nearly all of the posterior: coarse grids, widened until they do."""
    for _ in range(MAX_ROUNDS):
        coarse = weigh_grid(likelihood, low, high, COARSE)
        lower, higher = np.clip(np.transpose([support_ends(*coarse.marginal(at)) for at in range(4)]), LOW, HIGH)
        if (low <= lower).all() and (higher <= high).all():
            return lower, higher
        low, high = np.minimum(low, lower), np.maximum(high, higher)
    return low, high


def support_ends(places: Array, mass: Array) -> tuple[float, float]:
    """The ends of the support of a marginal, one step further out; two steps where the grid itself ended too early."""
    step = places[1] - places[0]
    first, last = np.flatnonzero(mass > NEGLIGIBLE * mass.max())[[0, -1]]
    return places[first] - step * (1 + (first == 0)), places[last] + step * (1 + (last == len(mass) - 1))


def initial_box(best: Fit) -> tuple[Array, Array]:
    """`REACH_SD` standard deviations to either side of the maximum, by its information and that of the prior."""
    information = best.information + np.diag(1 / PRIOR_SD**2)
    eigenvalues, eigenvectors = np.linalg.eigh(information)
    spread = REACH_SD * np.sqrt((eigenvectors**2 / np.maximum(eigenvalues, 1)).sum(axis=1))
    middle = np.clip(best.theta, LOW + spread / 2, HIGH - spread / 2)
    return np.maximum(LOW, middle - spread), np.minimum(HIGH, middle + spread)


def weigh_grid(likelihood: Likelihood, low: Array, high: Array, numbers: Sequence[int]) -> Grid:
    """The weighted grid over a box, with so many values along each axis."""
    places = [np.linspace(*ends) for ends in zip(low, high, numbers, strict=True)]
    lines, paces = parameter_sets(places, LINE, LINE_BIAS), parameter_sets(places, PACE, PACE_BIAS)
    logs = likelihood.grid_log_likelihood(lines, paces) + log_prior(lines)[:, None] + log_prior(paces)
    weights = np.exp(logs - logs.max())
    return Grid(places, (weights / weights.sum()).reshape(numbers))


def parameter_sets(places: list[Array], spread: int, bias: int) -> Array:
    """Every spread with every bias, in their columns; the other two parameters at their prior mean."""
    spreads, biases = places[spread], places[bias]
    sets = np.tile(PRIOR_MEAN, (len(spreads) * len(biases), 1))
    sets[:, spread], sets[:, bias] = np.repeat(spreads, len(biases)), np.tile(biases, len(spreads))
    return sets


def summarise_marginal(places: Array, mass: Array) -> Estimate:
    """The median and 95 % interval of a marginal, whose log is interpolated by a cubic spline."""
    return quantiles_of(*fine_density(places, mass))


def fine_density(places: Array, mass: Array) -> tuple[Array, Array]:
    """Many places along a marginal and its density there, up to a constant."""
    fine = np.linspace(places[0], places[-1], 400)
    return fine, np.exp(CubicSpline(places, np.log(np.maximum(mass, mass.max() * 1e-12)))(fine))


def quantiles_of(places: Array, density: Array) -> Estimate:
    """The median and 95 % interval of a density at evenly spaced places."""
    below = np.concatenate([[0.0], np.cumsum(density[1:] + density[:-1])])
    low, middle, high = np.interp(np.array([0.025, 0.5, 0.975]) * below[-1], below, places)
    return Estimate(float(middle), float(low), float(high))


def exponentiate(logs: Estimate) -> Estimate:
    """An estimate made on a log scale, on the scale of the parameter itself."""
    return Estimate(*(float(np.exp(value)) for value in (logs.middle, logs.low, logs.high)))
