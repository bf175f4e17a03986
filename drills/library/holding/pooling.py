"""Shares of several drills for one fault, each moved towards their common share: partial pooling.

A hierarchical beta-binomial model: the drill's own share follows a beta distribution around the common share `mu`, as
if `size` further students at the common share had been counted with each drill. Both are unknown: `mu` may be any
share, `size` lies between 4 and 400, each doubling as likely as the next. Everything is averaged over both.
Gelman et al. (2013), Bayesian Data Analysis, 3rd ed., 5.3. The range of `size` is a choice of ours.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import betainc, betaln

from lessons.progress.intervals import Interval, Share

Numbers = NDArray[np.float64]

LEAST_SIZE, MOST_SIZE = 4.0, 400.0
SHARES = (np.arange(30) + 0.5) / 30
SIZES = LEAST_SIZE * (MOST_SIZE / LEAST_SIZE) ** ((np.arange(12) + 0.5) / 12)
MU, SIZE = (axis.ravel() for axis in np.meshgrid(SHARES, SIZES, indexing="ij"))  # the grid, equally likely beforehand
LEFT_OUT = 1e-4  # points of the grid that together are no likelier than this change nothing that is shown
HALVINGS = 12  # of the range in which a limit lies: it is found to 1 in 4000
TAILS = np.array([[0.025], [0.975]])


class Pooled(NamedTuple):
    """What is known of a drill together with the others: its share and the 95 % interval that it lies in."""

    rate: float
    interval: Interval


class Pool(NamedTuple):
    """The common share of all drills, how many students at it are counted with each, and each drill's own."""

    common: float
    added: float
    drills: tuple[Pooled, ...]


def pool(shares: Sequence[Share]) -> Pool:
    """The drills' shares, each moved towards the common one; one without students is at the common share.

    Raises ValueError without any drill.
    """
    if not shares:
        raise ValueError("no drills")
    weights = posterior(shares)
    likely = most_likely(weights)
    mu, size, weights = MU[likely], SIZE[likely], weights[likely] / weights[likely].sum()
    drills = tuple(pooled(share, mu, size, weights) for share in shares)
    return Pool(float(weights @ mu), float(1 / (weights @ (1 / (size + 1))) - 1), drills)


def posterior(shares: Sequence[Share]) -> Numbers:
    """How likely each point of the grid is, given what the drills showed; they sum to 1."""
    logs = sum((log_likelihood(share, MU, SIZE) for share in shares), np.zeros_like(MU))
    weights: Numbers = np.exp(logs - logs.max())
    weights /= weights.sum()
    return weights


def most_likely(weights: Numbers) -> NDArray[np.intp]:
    """The points of the grid without the least likely ones."""
    order = np.argsort(weights)
    kept: NDArray[np.intp] = order[np.cumsum(weights[order]) > LEFT_OUT]
    return kept


def log_likelihood(share: Share, mu: Numbers, size: Numbers) -> Numbers:
    """The beta-binomial log-likelihood of one drill's share, without the number of ways to reach it."""
    a, b = mu * size, (1 - mu) * size
    found: Numbers = betaln(a + share.seen, b + share.of - share.seen) - betaln(a, b)
    return found


def pooled(share: Share, mu: Numbers, size: Numbers, weights: Numbers) -> Pooled:
    """The mean of one drill's share and its equal-tailed interval: a mixture of beta distributions."""
    a, b = mu * size + share.seen, (1 - mu) * size + share.of - share.seen
    low, high = np.zeros((2, 1)), np.ones((2, 1))
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        is_below = (betainc(a, b, middle) @ weights)[:, None] < TAILS
        low, high = np.where(is_below, middle, low), np.where(is_below, high, middle)
    limits = ((low + high) / 2).ravel()
    return Pooled(float(weights @ (a / (a + b))), Interval(float(limits[0]), float(limits[1])))
