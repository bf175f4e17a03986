"""Chances under the normals of start line and pace, each with its slopes.

A `Sloped` array has the value first and then its slopes by the four parameters: (5, columns, sets). One without slopes,
of the value alone, goes through the same sums: (1, ...).
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from drills.putting.observations import Span

Array = NDArray[np.float64]
Sloped = NDArray[np.float64]
Union = Sequence[Span]
LINE, LINE_BIAS, PACE, PACE_BIAS = range(4)
LEAST = 1e-300
FAR = 1e9  # instead of infinity, which would make nothing times infinity of a slope
ROOT = 1 / np.sqrt(2 * np.pi)


def times(one: Sloped, other: Sloped) -> Sloped:
    """The product."""
    if len(one) == 1:
        return one * other
    product = one[:1] * other + one * other[:1]
    product[0] /= 2
    return product


def over(one: Sloped, other: Sloped) -> Sloped:
    """The quotient; over next to nothing it stays finite."""
    below = np.maximum(other[0], LEAST)
    share = one[0] / below
    if len(one) == 1:
        alone: Sloped = share[None]
        return alone
    quotient: Sloped = (one - share * other) / below
    quotient[0] = share
    return quotient


def log(one: Sloped) -> Sloped:
    """The logarithm; of nothing it is large and finite."""
    above = np.maximum(one[0], LEAST)
    logs: Sloped = one / above
    logs[0] = np.log(above)
    return logs


class Normal:
    """The chances of unions of spans under one of the two normals; every end of a span is worked out once."""

    def __init__(self, spread: int, unions: Sequence[Union]) -> None:
        """The log of the spread is the parameter `spread`, the mean the one after it."""
        self.spread = spread
        spans = [(column, *span) for column, union in enumerate(unions) for span in union if span[0] < span[1]]
        column, low, high = np.array(spans, dtype=float).reshape(-1, 3).T
        ends = np.clip(np.concatenate([low, high]), -FAR, FAR)
        self.places, where = np.unique(ends, return_inverse=True)
        cell = np.tile(column.astype(int), 2) * len(self.places) + where
        sums = np.bincount(cell, np.repeat([-1.0, 1.0], len(spans)), minlength=len(unions) * len(self.places))
        self.sums = sums.reshape(len(unions), len(self.places))

    def chance(self, theta: Array) -> Sloped:
        """The chance of each union, with its slopes."""
        each = np.exp(-theta[:, self.spread])
        z = (self.places[:, None] - theta[:, self.spread + 1]) * each
        density = ROOT * np.exp(-0.5 * z * z)
        parts = np.array([*below(z), -z * density, -each * density])
        tail, above, by_spread, by_mean = self.sums @ parts
        sloped = np.zeros((5, *tail.shape))
        sloped[0], sloped[self.spread + 1], sloped[self.spread + 2] = tail + above, by_spread, by_mean
        return sloped

    def alone(self, theta: Array) -> Sloped:
        """The chance of each union without its slopes."""
        z = (self.places[:, None] - theta[:, self.spread + 1]) * np.exp(-theta[:, self.spread])
        tail, above = self.sums @ np.array(below(z))
        chance: Sloped = (tail + above)[None]
        return chance


def below(z: Array) -> tuple[Array, Array]:
    """The normal's chance below a place, in two parts, so that far out on either side no digits are lost.

    The nearer tail, negative above the middle, and there the whole of 1.
    """
    return np.copysign(ndtr(-np.abs(z)), -z), np.signbit(-z).astype(float)


def between(low: Array, high: Array) -> Array:
    """The chance of spans of a standard normal; none where one ends before it begins."""
    (low_tail, low_above), (high_tail, high_above) = below(low), below(np.maximum(low, high))
    chance: Array = (high_tail - low_tail) + (high_above - low_above)
    return chance
