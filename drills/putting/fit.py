"""The start line and pace under which some records are most likely: Newton's method from three starts at once."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drills.putting.model import Array, Evidence
from drills.putting.record import Record

# log degrees, degrees, log share, share: what a player may be at the very least and most
LEAST = np.array([np.log(0.1), -8.0, np.log(0.005), -0.6])
MOST = np.array([np.log(15.0), 8.0, np.log(1.0), 0.6])
STARTS = np.array([[np.log(line), 0.0, np.log(pace), 0.0] for line, pace in ((1.0, 0.07), (1.5, 0.15), (3.0, 0.3))])
STEP = 1e-5
STENCIL = np.vstack([np.zeros(4), STEP * np.eye(4)])
LONGEST = np.array([0.8, 1.5, 0.8, 0.15])
ROUNDS = 60


@dataclass(frozen=True)
class Fit:
    """The best of the three: its parameters, its log-likelihood, and how sharp it is around it (4, 4)."""

    theta: Array
    log_likelihood: float
    sharpness: Array


def fit(records: Sequence[Record], starts: Array = STARTS) -> Fit:
    """The likeliest putter. Raises ValueError for no records.

    What the records cannot tell of stays as it is in `starts`; what they would drive beyond reason stops there.
    """
    evidence = Evidence(records)
    if not (evidence.rows.putts or evidence.rows.starts):
        raise ValueError("no balls, no fit")
    return best_of(evidence, starts)


def best_of(evidence: Evidence, starts: Array) -> Fit:
    """The best end of a climb from each start."""
    free = evidence.free
    theta = starts.copy()
    value, slope, sharp = surroundings(evidence, theta, free)
    step = newton(theta, slope, sharp, free)
    for _ in range(ROUNDS):
        there = np.clip(theta + step, LEAST, MOST)
        reached, its_slope, its_sharp = surroundings(evidence, there, free)
        better = reached >= value
        gain = np.where(better, reached - value, np.inf)
        theta, value = np.where(better[:, None], there, theta), np.where(better, reached, value)
        sharp = np.where(better[:, None, None], its_sharp, sharp)
        step = np.where(better[:, None], newton(there, its_slope, its_sharp, free), step / 4)
        if ((gain < 1e-9) | (np.abs(step).max(axis=1) < 1e-7)).all():
            break
    best = int(np.argmax(value))
    return Fit(theta[best], float(value[best]), sharp[best])


def surroundings(evidence: Evidence, theta: Array, free: NDArray[np.bool_]) -> tuple[Array, Array, Array]:
    """The log-likelihood at each set, its slope, and its curvature from the slopes a step beside: all of one call."""
    near = theta[:, None, :] + STENCIL
    sloped = evidence.log_likelihood(near.reshape(-1, 4)).reshape(5, len(theta), 5)
    slopes = np.moveaxis(sloped[1:], 0, 2)  # (sets, places, 4)
    slope = slopes[:, 0] * free
    curved = (slopes[:, 1:] - slopes[:, :1]) / STEP
    sharp = -(curved + np.swapaxes(curved, 1, 2)) / 2
    both = free[:, None] & free[None, :]
    return sloped[0, :, 0], slope, np.where(both, sharp, np.eye(4))


def newton(theta: Array, slope: Array, sharp: Array, free: NDArray[np.bool_]) -> Array:
    """The step to the top if the hill were a parabola; never too long, never downhill, and along the edges."""
    at_edge = ((theta <= LEAST) & (slope < 0)) | ((theta >= MOST) & (slope > 0)) | ~free
    inner = ~at_edge
    both = inner[:, :, None] & inner[:, None, :]
    widths, ways = np.linalg.eigh(np.where(both, sharp, np.eye(4)))
    along = np.einsum("sij,si->sj", ways, slope * inner)
    step = np.einsum("sij,sj->si", ways, along / np.maximum(np.abs(widths), 1e-6)) * inner
    too_long = np.maximum(1.0, np.abs(step / LONGEST).max(axis=1))
    shortened: Array = step / too_long[:, None]
    return shortened
