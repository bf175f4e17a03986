"""Shares of several drills for one fault, each moved towards their common share: partial pooling.

A hierarchical beta-binomial model: the drill's own share follows a beta distribution around the common share `mu`, as
if `size` further students at the common share had been counted with each drill. Both are unknown: `mu` may be any
share, `size` lies between 4 and 400, each doubling as likely as the next. Everything is averaged over both.
Gelman et al. (2013), Bayesian Data Analysis, 3rd ed., 5.3. The range of `size` is a choice of ours.
"""

from collections.abc import Iterable, Sequence
from functools import cache
from math import exp, lgamma, sqrt
from typing import NamedTuple

from lessons.progress.intervals import Interval, Share, wilson
from lessons.progress.sentences import FEW

SHARES, SIZES = 40, 16  # points of the grid
LEAST_SIZE, MOST_SIZE = 4.0, 400.0


class Node(NamedTuple):
    """One point of the grid: a common share, and how many students at it are counted with each drill."""

    mu: float
    size: float


class Pooled(NamedTuple):
    """What is known of a drill together with the others: its share and the interval that it probably lies in."""

    rate: float
    interval: Interval


class Pool(NamedTuple):
    """The common share of all drills, how many students at it are counted with each, and each drill's own."""

    common: float
    added: float
    drills: tuple[Pooled, ...]


@cache
def grid() -> tuple[Node, ...]:
    """All points, equally likely beforehand."""
    ratio = (MOST_SIZE / LEAST_SIZE) ** (1 / (SIZES - 1))
    sizes = [LEAST_SIZE * ratio**step for step in range(SIZES)]
    return tuple(Node((step + 0.5) / SHARES, size) for step in range(SHARES) for size in sizes)


def pool(shares: Sequence[Share]) -> Pool:
    """The drills' shares, each moved towards the common one. Raises ValueError without any share.

    A drill without students is at the common share. Raises ValueError as `wilson` does.
    """
    if not shares:
        raise ValueError("no drills")
    weights = posterior(shares)
    common = sum(weight * node.mu for weight, node in zip(weights, grid(), strict=True))
    kept = sum(weight / (node.size + 1) for weight, node in zip(weights, grid(), strict=True))
    return Pool(common, 1 / kept - 1, tuple(pooled(share, weights) for share in shares))


def posterior(shares: Iterable[Share]) -> list[float]:
    """How likely each point of the grid is, given what the drills showed; the weights sum to 1."""
    known = [share for share in shares if share.of]
    logs = [sum(log_likelihood(share, node) for share in known) for node in grid()]
    most = max(logs)
    weights = [exp(each - most) for each in logs]
    total = sum(weights)
    return [weight / total for weight in weights]


def log_likelihood(share: Share, node: Node) -> float:
    """The beta-binomial log-likelihood of one drill's share, without the number of ways to reach it."""
    a, b = node.mu * node.size, (1 - node.mu) * node.size
    seen, of = share
    return lgamma(a + seen) - lgamma(a) + lgamma(b + of - seen) - lgamma(b) + lgamma(node.size) - lgamma(node.size + of)


def pooled(share: Share, weights: Sequence[float]) -> Pooled:
    """The mean of one drill's share over the grid, and an interval of 95 %.

    The interval is the score interval of as many students as would make a share as uncertain as this one.
    """
    rate = square = 0.0
    for weight, node in zip(weights, grid(), strict=True):
        size = node.size + share.of
        mean = (node.mu * node.size + share.seen) / size
        rate += weight * mean
        square += weight * (mean * mean + mean * (1 - mean) / (size + 1))
    worth = rate * (1 - rate) / (square - rate * rate) - 1
    return Pooled(rate, wilson(Share(rate * worth, worth)))  # type: ignore[arg-type]
