"""Probabilities under the normal distributions of start line and pace, with their gradients by the product rule.

A `Dual` array (dual numbers, forward-mode differentiation) has the value first and then its derivatives by the four
parameters: (5, columns, sets). One that holds the value alone, (1, ...), goes through the same functions.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from drills.putting.observations import Span

Array = NDArray[np.float64]
Dual = NDArray[np.float64]
Spans = Sequence[Span]
LINE, LINE_BIAS, PACE, PACE_BIAS = range(4)
TINY = 1e-300
FAR = 1e9  # instead of infinity, so that no derivative becomes 0 times infinity
NORMAL_PEAK = 1 / np.sqrt(2 * np.pi)  # the density of a standard normal at 0


def multiply(one: Dual, other: Dual) -> Dual:
    """The product."""
    if len(one) == 1:
        return one * other
    product = one[:1] * other + one * other[:1]
    product[0] /= 2
    return product


def divide(one: Dual, other: Dual) -> Dual:
    """The quotient, finite even where the divisor is almost 0."""
    divisor = np.maximum(other[0], TINY)
    share = one[0] / divisor
    if len(one) == 1:
        value: Dual = share[None]
        return value
    quotient: Dual = (one - share * other) / divisor
    quotient[0] = share
    return quotient


def log(one: Dual) -> Dual:
    """The logarithm, finite even where the value is 0."""
    above = np.maximum(one[0], TINY)
    logs: Dual = one / above
    logs[0] = np.log(above)
    return logs


@dataclass(frozen=True)
class Tails:
    """A mixture of normals around one mean: how much each weighs, and one over its standard deviation.

    68 % lie within one unit of the mean, as under a standard normal, so that a spread means the same under both.
    """

    components: tuple[tuple[float, float], ...]


NORMAL = Tails(((1.0, 1.0),))
# One ball in ten is three times as wild: Tukey (1960), A survey of sampling from contaminated distributions.
# 1.0959 standard deviations of the narrow component hold 68 % of such balls.
HEAVY = Tails(((0.9, 1.0959), (0.1, 1.0959 / 3)))


class Normal:
    """The probabilities of sets of spans under one of the two normals; each distinct end of a span is computed once."""

    def __init__(self, spread: int, columns: Sequence[Spans], tails: Tails = NORMAL) -> None:
        """The log of the spread is the parameter `spread`, the mean the one after it."""
        self.spread, self.tails = spread, tails
        spans = [(column, *span) for column, each in enumerate(columns) for span in each if span[0] < span[1]]
        column, low, high = np.array(spans, dtype=float).reshape(-1, 3).T
        ends = np.clip(np.concatenate([low, high]), -FAR, FAR)
        self.places, where = np.unique(ends, return_inverse=True)
        cell = np.tile(column.astype(int), 2) * len(self.places) + where
        sums = np.bincount(cell, np.repeat([-1.0, 1.0], len(spans)), minlength=len(columns) * len(self.places))
        self.sums = sums.reshape(len(columns), len(self.places))

    def with_gradient(self, theta: Array) -> Dual:
        """The probability of each set of spans, with its gradient: (5, sets of spans, sets of parameters)."""
        each = np.exp(-theta[:, self.spread])
        far = (self.places[:, None] - theta[:, self.spread + 1]) * each
        parts = self.mixed([self.component(far * narrow, each * narrow) for _, narrow in self.tails.components])
        tail, above, by_spread, by_mean = self.sums @ parts
        dual = np.zeros((5, *tail.shape))
        dual[0], dual[self.spread + 1], dual[self.spread + 2] = tail + above, by_spread, by_mean
        return dual

    def value(self, theta: Array) -> Dual:
        """The same without the gradient: (1, ...)."""
        far = (self.places[:, None] - theta[:, self.spread + 1]) * np.exp(-theta[:, self.spread])
        tail, above = self.sums @ self.mixed([np.array(cumulative(far * each)) for _, each in self.tails.components])
        chance: Dual = (tail + above)[None]
        return chance

    def component(self, z: Array, each: Array) -> Array:
        """The two parts of the cumulative probability of one component, and its derivatives: (4, places, sets)."""
        density = NORMAL_PEAK * np.exp(-0.5 * z * z)
        return np.array([*cumulative(z), -z * density, -each * density])

    def mixed(self, parts: list[Array]) -> Array:
        """The components together, each by its weight."""
        if len(parts) == 1:
            return parts[0]
        whole: Array = np.tensordot([weight for weight, _ in self.tails.components], parts, 1)
        return whole


def cumulative(z: Array) -> tuple[Array, Array]:
    """The cumulative probability, in two parts that add up to it, so that far out on either side no digits are lost.

    First the probability of the nearer tail, negative above the mean; then 0 below the mean and 1 above it.
    """
    return np.copysign(ndtr(-np.abs(z)), -z), np.signbit(-z).astype(float)


def between(low: Array, high: Array, tails: Tails = NORMAL) -> Array:
    """The probability of spans of a standard normal, or under heavier tails; 0 where one ends before it begins."""
    chance: Array = sum(
        (weight * between_normal(low * narrow, high * narrow) for weight, narrow in tails.components),
        start=np.zeros(()),
    )
    return chance


def between_normal(low: Array, high: Array) -> Array:
    """The probability of spans of a standard normal."""
    (low_tail, low_above), (high_tail, high_above) = cumulative(low), cumulative(np.maximum(low, high))
    chance: Array = (high_tail - low_tail) + (high_above - low_above)
    return chance
