"""The start line and pace under which some records are most likely: Newton's method from three starts at once."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drills.putting.model import Array, Evidence
from drills.putting.observations import Record

# log degrees, degrees, log share, share: what a player may be at the very least and most
LEAST = np.array([np.log(0.2), -8.0, np.log(0.015), -0.6])
MOST = np.array([np.log(15.0), 8.0, np.log(1.0), 0.6])
STARTS = np.array([[np.log(line), 0.0, np.log(pace), 0.0] for line, pace in ((1.0, 0.07), (1.5, 0.15), (3.0, 0.3))])
STEP = 1e-5
STENCIL = np.vstack([np.zeros(4), STEP * np.eye(4)])
LONGEST = np.array([0.8, 1.5, 0.8, 0.15])
NEAR = LONGEST / 5
NO_SLOPE = np.eye(4)
ROUNDS = 60
LITTLE = 1e-6  # twice what is left to gain in log-likelihood


@dataclass(frozen=True)
class Fit:
    """The best of the three: its parameters, its log-likelihood, and how sharp it is around it (4, 4)."""

    theta: Array
    log_likelihood: float
    sharpness: Array


def fit(records: Iterable[Record], starts: Array = STARTS) -> Fit:
    """The likeliest putter. Raises ValueError for no records.

    What the records cannot tell of stays as it is in `starts`; what they would drive beyond reason stops there.
    """
    return best_of(Evidence(records), starts)


def best_of(evidence: Evidence, starts: Array) -> Fit:
    """The best end of a climb from each start."""
    free, theta = evidence.free, starts
    value, slope, sharp = surroundings(evidence, theta, free)
    step = newton(theta, slope, sharp, free)
    for _ in range(ROUNDS):
        if settled(theta, value, (slope * step).sum(axis=1)):
            break
        there = np.minimum(np.maximum(theta + step, LEAST), MOST)
        reached, its_slope, its_sharp = surroundings(evidence, there, free)
        if (worse := reached < value).any():  # back to where it was, and a shorter step
            for new, old in ((there, theta), (reached, value), (its_slope, slope), (its_sharp, sharp)):
                new[worse] = old[worse]
        theta, value, slope, sharp = there, reached, its_slope, its_sharp
        step = np.where(worse[:, None], step / 4, newton(theta, slope, sharp, free))
    best = int(np.argmax(value))
    return Fit(theta[best], float(value[best]), sharp[best])


def settled(theta: Array, value: Array, left: Array) -> bool:
    """Whether every climb has next to nothing left to gain, or is near enough to the best of these to join it."""
    done = left < LITTLE
    if not done.any():
        return False
    top = theta[np.argmax(np.where(done, value, -np.inf))]
    return bool((done | (np.abs(theta - top) < NEAR).all(axis=1)).all())


def surroundings(evidence: Evidence, theta: Array, free: NDArray[np.bool_]) -> tuple[Array, Array, Array]:
    """The log-likelihood at each set, its slope, and its curvature from the slopes a step beside: all of one call."""
    near = (theta[:, None] + STENCIL).reshape(-1, 4)
    sloped = evidence.log_likelihood(near).reshape(5, len(theta), 5)
    curved = (sloped[1:, :, 1:] - sloped[1:, :, :1]).transpose(1, 0, 2)
    sharp = (curved + curved.transpose(0, 2, 1)) * (-0.5 / STEP)
    return sloped[0, :, 0], sloped[1:, :, 0].T * free, np.where(free[:, None] & free, sharp, NO_SLOPE)


def newton(theta: Array, slope: Array, sharp: Array, free: NDArray[np.bool_]) -> Array:
    """The step to the top if the hill were a parabola; never too long, never downhill, and along the edges."""
    inner = ~(((theta <= LEAST) & (slope < 0)) | ((theta >= MOST) & (slope > 0)) | ~free)
    widths, ways = np.linalg.eigh(np.where(inner[:, :, None] & inner[:, None], sharp, NO_SLOPE))
    along = (slope * inner)[:, None] @ ways / np.maximum(np.abs(widths), 1e-6)[:, None]
    step = (along @ ways.transpose(0, 2, 1))[:, 0] * inner
    shortened: Array = step / np.maximum(1.0, np.abs(step / LONGEST).max(axis=1))[:, None]
    return shortened
