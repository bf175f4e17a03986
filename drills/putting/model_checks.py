"""Two checks of a fit: whether the model describes the balls, and whether start line and pace can be told apart."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from math import inf

import numpy as np
from numpy.typing import NDArray
from scipy.special import xlogy

from drills.putting.fit import LOWER, UPPER
from drills.putting.hole import gate_error_deg, largest_error_deg
from drills.putting.model import MissSideTerms, holed, identifiable, starts, stops
from drills.putting.normal import FAR, LINE, NORMAL, PACE, PACE_BIAS, TINY, Array, Normal, Tails
from drills.putting.observations import (
    TOLERANCE_M,
    Counted,
    Gated,
    Leaves,
    Observation,
    Rows,
    pool,
    rows_from,
    side_rows,
)
from drills.putting.posterior import Estimate, Posterior

REPLICATES = 300
SEED = 20
WIDE_RATIO = 3.0  # a wide interval: its high end is over so many times its low end; common practice, no source
MAX_CORRELATION = 0.85  # of two parameters that can still be told apart; common practice, no source
FIFTHS = (-0.8416, -0.2533, 0.2533, 0.8416)  # the quintiles of a standard normal
SMALLEST_DEVIANCE = 1.0  # below it deviances are taken as the same: the fit is as good as perfect
STEP = 1e-4


# --- Start line and pace ------------------------------------------------------------------------


def is_separable(posterior: Posterior) -> bool:
    """Whether these observations tell the errors of start line and pace apart.

    They do not where both intervals are wide, or where the two errors are strongly correlated: a better line with a
    poorer pace would explain the same putts. Where only one of them is identifiable, there is nothing to tell apart.
    """
    if not (posterior.identifiable[LINE] and posterior.identifiable[PACE]):
        return True
    both_wide = is_wide(posterior.line_deg) and is_wide(posterior.pace)
    return not both_wide and abs(correlation(posterior)) < MAX_CORRELATION


def is_wide(estimate: Estimate) -> bool:
    """Whether the high end of an interval is over `WIDE_RATIO` times its low end."""
    return estimate.high > WIDE_RATIO * estimate.low


def correlation(posterior: Posterior) -> float:
    """The correlation of the logs of the two errors."""
    weights = posterior.grid.weights.sum(axis=(1, 3))
    line, pace = (
        posterior.grid.places[at] - posterior.grid.marginal(at)[1] @ posterior.grid.places[at] for at in (LINE, PACE)
    )
    together = line @ weights @ pace
    return float(together / np.sqrt((line**2 @ weights.sum(axis=1)) * (pace**2 @ weights.sum(axis=0))))


# --- Goodness of fit ----------------------------------------------------------------------------


@dataclass(frozen=True)
class Cells:
    """Balls by their result, (cells,), and the probability of each result under some putters: (sets, cells)."""

    counts: Array
    probabilities: Array

    def __post_init__(self) -> None:
        np.maximum(self.probabilities, TINY, out=self.probabilities)

    def with_replicates(self, rng: np.random.Generator) -> Array:
        """The counts themselves, and then replicates of the first putter: (1 + replicates, cells)."""
        probabilities = self.probabilities[0] / self.probabilities[0].sum()
        replicates = rng.multinomial(int(self.counts.sum()), probabilities, size=REPLICATES)
        return np.vstack([self.counts, replicates]).astype(float)

    @property
    def slopes(self) -> Array:
        """The derivative of the log of each probability by each parameter: (cells, 4)."""
        logs = np.log(self.probabilities)
        slopes: Array = ((logs[1:5] - logs[5:]) / (2 * STEP)).T
        return slopes


def model_fit_p_value(observations: Iterable[Observation], theta: Array, tails: Tails = NORMAL) -> float:
    """The p-value of goodness of fit: how often balls of such a putter deviate from the model at least as much.

    `theta` (4,) is the maximum-likelihood putter of the same observations under these tails. A parametric bootstrap of
    the deviance, with a fixed seed; what refitting each replicate would take from its deviance is subtracted to first
    order, by the slopes of those parameters that were fitted. Raises ValueError for no balls.
    Rao (1948), Proc. Camb. Phil. Soc. 44, 50-57.
    """
    observations = list(observations)
    fitted = is_fitted(observations, theta)
    near = np.vstack([theta, theta + STEP * np.eye(4), theta - STEP * np.eye(4)])
    groups = [cells for cells in cells_of(observations, near, tails) if cells.counts.sum()]
    if not groups:
        raise ValueError("no balls: a model check needs at least one")
    rng = np.random.default_rng(SEED)
    deviance, score, information = np.zeros(REPLICATES + 1), np.zeros((REPLICATES + 1, 4)), np.zeros((4, 4))
    for cells in groups:
        drawn, slopes, expected = (
            cells.with_replicates(rng),
            cells.slopes * fitted,
            cells.counts.sum() * cells.probabilities[0],
        )
        deviance += 2 * xlogy(drawn, drawn / expected).sum(axis=1)
        score += drawn @ slopes
        information += slopes.T * expected @ slopes
    inverse = np.linalg.pinv(information, rcond=1e-6, hermitian=True)
    deviance[1:] -= np.einsum("ti,ij,tj->t", score[1:], inverse, score[1:])
    deviance = np.maximum(deviance, SMALLEST_DEVIANCE)
    return float(np.mean(deviance >= deviance[0]))


def is_fitted(observations: Iterable[Observation], theta: Array) -> NDArray[np.bool_]:
    """Which parameters were free to follow these observations: identifiable, and not held by their bounds."""
    is_free: NDArray[np.bool_] = identifiable(rows_from(observations)) & (theta > LOWER) & (theta < UPPER)
    return is_free


def cells_of(observations: Iterable[Observation], theta: Array, tails: Tails = NORMAL) -> Iterator[Cells]:
    """The cells of each observation, and of the sides of its misses."""
    for observation in pool(observations):
        if isinstance(observation, Gated):
            yield gate_cells(observation, theta)
        elif isinstance(observation, Leaves):
            yield leave_cells(observation, theta, tails)
        else:
            yield counted_cells(observation, theta, tails)
            if observation.sided:
                yield side_cells(observation, theta, tails)


def gate_cells(observation: Gated, theta: Array) -> Cells:
    """Through the gate and past it on either side; or only past it where the side was not always recorded."""
    error = np.array([gate_error_deg(observation.distance_m, observation.width_m)])
    push, pull = starts(theta, error, np.array([inf])), starts(theta, np.array([-inf]), -error)
    passed = starts(theta, -error, error)
    if observation.beside:
        counts, probabilities = (
            [observation.passed, observation.push + observation.pull + observation.beside],
            [passed, push + pull],
        )
    else:
        counts, probabilities = [observation.passed, observation.push, observation.pull], [passed, push, pull]
    return Cells(np.array(counts), np.hstack(probabilities))


def counted_cells(observation: Counted, theta: Array, tails: Tails) -> Cells:
    """Holed, short and past, or holed and missed."""
    distance = np.array([observation.distance_m])
    drops = holed(theta, distance, np.array([observation.intended_m]), tails)
    if observation.short is None:
        return Cells(np.array([observation.holed, observation.missed]), np.hstack([drops, 1 - drops]))
    short = stops(theta, distance, np.array([-inf]), np.array([0.0]), np.array([observation.intended_m]), tails)
    counts = np.array([observation.holed, observation.short, observation.missed - observation.short])
    return Cells(counts, np.hstack([drops, short, 1 - drops - short]))


def side_cells(observation: Counted, theta: Array, tails: Tails) -> Cells:
    """Misses to either side, of those whose side is information."""
    [row] = side_rows(observation)
    sided = MissSideTerms(Rows([], [replace(row, push=1, pull=1)], []))  # a side that no miss went to has a cell, too
    probabilities = sided.probabilities(
        Normal(LINE, sided.lines).value(theta), Normal(PACE, sided.paces, tails).value(theta)
    )
    return Cells(np.array([row.push, row.pull]), probabilities[0].T.copy())


def leave_cells(observation: Leaves, theta: Array, tails: Tails) -> Cells:
    """Leaves in about five groups of equal probability, cut between two steps; and balls that dropped."""
    cuts = [-inf, *fifths(observation, theta[0]), inf]
    low, high = np.array(cuts[:-1]), np.array(cuts[1:])
    counts = np.histogram(observation.leaves_m, np.clip(cuts, -FAR, FAR))[0]
    distance, intended = np.full(len(low), observation.distance_m), np.full(len(low), observation.intended_m)
    probabilities = stops(theta, distance, low, high, intended, tails)
    if not observation.hole:
        return Cells(counts, probabilities)
    limit = np.full(len(low), largest_error_deg(observation.distance_m))
    within = stops(theta, distance, np.maximum(low, 0.0), np.minimum(high, TOLERANCE_M), intended, tails)
    drops = within * starts(theta, -limit, limit)
    return Cells(
        np.array([*counts, observation.holed]), np.hstack([probabilities - drops, drops.sum(axis=1, keepdims=True)])
    )


def fifths(observation: Leaves, theta: Array) -> list[float]:
    """The ends of steps that are nearest to the quintiles of a putter's stops."""
    aim, step = observation.intended_m, observation.step_m
    places = aim * (1 + theta[PACE_BIAS] + np.exp(theta[PACE]) * np.array(FIFTHS)) - observation.distance_m
    ends: list[float] = np.unique((np.round(places / step - 0.5) + 0.5) * step).tolist()
    return ends
