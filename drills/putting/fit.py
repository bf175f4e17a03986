"""The maximum-likelihood putter: Newton's method from three starts at once."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drills.putting.model import Array, Likelihood
from drills.putting.observations import Observation

# The bounds of the four parameters: log degrees, degrees, log share, share.
LOWER = np.array([np.log(0.2), -8.0, np.log(0.015), -0.6])
UPPER = np.array([np.log(15.0), 8.0, np.log(1.0), 0.6])
STARTS = np.array([[np.log(line), 0.0, np.log(pace), 0.0] for line, pace in ((1.0, 0.07), (1.5, 0.15), (3.0, 0.3))])
STEP = 1e-5
STENCIL = np.vstack([np.zeros(4), STEP * np.eye(4)])
MAX_STEP = np.array([0.8, 1.5, 0.8, 0.15])
SAME_TOP = MAX_STEP / 5
IDENTITY = np.eye(4)
MAX_ITERATIONS = 60
TOLERANCE = 1e-6  # twice the log-likelihood that is still to be gained


@dataclass(frozen=True)
class Fit:
    """A maximum: its parameters (4,), its log-likelihood, and the observed information there (4, 4)."""

    theta: Array
    log_likelihood: float
    information: Array


def fit(observations: Iterable[Observation], starts: Array = STARTS) -> Fit:
    """The maximum-likelihood putter. Raises ValueError for no observations.

    A parameter that is not identifiable stays as it is in `starts`; one that would go beyond its bounds stops there.
    """
    return maximise(Likelihood(observations), starts)


def maximise(likelihood: Likelihood, starts: Array) -> Fit:
    """The highest of the maxima that are reached from the starts."""
    identifiable, theta = likelihood.identifiable, starts
    value, gradient, information = value_gradient_information(likelihood, theta, identifiable)
    step = newton_step(theta, gradient, information, identifiable)
    for _ in range(MAX_ITERATIONS):
        if has_converged(theta, value, (gradient * step).sum(axis=1)):
            break
        next_theta = np.minimum(np.maximum(theta + step, LOWER), UPPER)
        next_value, gradient_there, information_there = value_gradient_information(likelihood, next_theta, identifiable)
        if (worse := next_value < value).any():  # go back, and take a shorter step
            for new, old in (
                (next_theta, theta),
                (next_value, value),
                (gradient_there, gradient),
                (information_there, information),
            ):
                new[worse] = old[worse]
        theta, value, gradient, information = next_theta, next_value, gradient_there, information_there
        step = np.where(worse[:, None], step / 4, newton_step(theta, gradient, information, identifiable))
    best = int(np.argmax(value))
    return Fit(theta[best], float(value[best]), information[best])


def has_converged(theta: Array, value: Array, left: Array) -> bool:
    """Whether every start has converged, or is so near to the best converged one that it leads to the same maximum."""
    is_done = left < TOLERANCE
    if not is_done.any():
        return False
    top = theta[np.argmax(np.where(is_done, value, -np.inf))]
    return bool((is_done | (np.abs(theta - top) < SAME_TOP).all(axis=1)).all())


def value_gradient_information(
    likelihood: Likelihood, theta: Array, identifiable: NDArray[np.bool_]
) -> tuple[Array, Array, Array]:
    """The log-likelihood at each set, its gradient, and its observed information by finite differences, in one call."""
    near = (theta[:, None] + STENCIL).reshape(-1, 4)
    sloped = likelihood.log_likelihood(near).reshape(5, len(theta), 5)
    curved = (sloped[1:, :, 1:] - sloped[1:, :, :1]).transpose(1, 0, 2)
    information = (curved + curved.transpose(0, 2, 1)) * (-0.5 / STEP)
    return (
        sloped[0, :, 0],
        sloped[1:, :, 0].T * identifiable,
        np.where(identifiable[:, None] & identifiable, information, IDENTITY),
    )


def newton_step(theta: Array, gradient: Array, information: Array, identifiable: NDArray[np.bool_]) -> Array:
    """The Newton step, shortened to `MAX_STEP`, always upwards, and along the bounds where it would leave them."""
    inner = ~(((theta <= LOWER) & (gradient < 0)) | ((theta >= UPPER) & (gradient > 0)) | ~identifiable)
    eigenvalues, eigenvectors = np.linalg.eigh(np.where(inner[:, :, None] & inner[:, None], information, IDENTITY))
    along = (gradient * inner)[:, None] @ eigenvectors / np.maximum(np.abs(eigenvalues), 1e-6)[:, None]
    step = (along @ eigenvectors.transpose(0, 2, 1))[:, 0] * inner
    shortened: Array = step / np.maximum(1.0, np.abs(step / MAX_STEP).max(axis=1))[:, None]
    return shortened
