"""Chips: how far from the hole they stop, how often up and down, and how many strokes to hole out."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import inf

import numpy as np

from drills.putting.model import Array
from drills.putting.posterior import Estimate

Rates = Callable[[Array], Array]  # the probability to hole a putt from some distances: (putters, distances)
RESAMPLES = 400
SEED = 20


@dataclass(frozen=True)
class Chipping:
    """Some chips: the median leave, the share up and down, and strokes to hole out, the chip included."""

    balls: int
    leave_m: Estimate
    up_and_down: Estimate
    strokes: Estimate
    nearer: float  # strokes saved if every chip stopped a fifth nearer
    surer: float  # strokes saved if a fifth of the missed second putts were holed


def chipping(leaves_m: Sequence[float], holed: int, putts: Rates) -> Chipping:
    """Chips followed by putts from where they stopped, with bootstrap intervals: balls are resampled, putters drawn.

    Chips that were holed need no putt. Raises ValueError for no balls, or a leave that is negative or not finite.
    Efron (1979), Ann. Stat. 7, 1-26.
    """
    if holed < 0 or len(leaves_m) + holed == 0 or not all(0 <= leave < inf for leave in leaves_m):
        raise ValueError("at least one chip, and leaves of 0 m or more")
    leaves = np.array([*leaves_m, *([0.0] * holed)])
    rates = np.where(leaves > 0, putts(leaves), 1.0)  # (putters, balls)
    takes = np.where(leaves > 0, 3 - rates, 1.0)  # strokes: the chip, a putt, and another one after a miss
    putters, balls = rates.shape
    rng = np.random.default_rng(SEED)
    drawn = rng.integers(balls, size=(RESAMPLES, balls))
    who = np.arange(RESAMPLES)[:, None] % putters
    saves = rates[who, drawn].mean(axis=1)
    nearer = np.where(leaves > 0, putts(0.8 * leaves), 1.0)
    return Chipping(
        balls=balls,
        leave_m=bootstrap_estimate(np.median(leaves[drawn], axis=1), float(np.median(leaves))),
        up_and_down=bootstrap_estimate(saves, float(rates.mean())),
        strokes=bootstrap_estimate(takes[who, drawn].mean(axis=1), float(takes.mean())),
        nearer=float((nearer - rates).mean()),
        surer=float((0.2 * (1 - rates)).mean()),
    )


def leave_for_share(leaves_m: Array, steps_m: Array, share: float) -> float:
    """The length within which so large a share of the next chips stop, by leaves that were noted to their steps.

    Leaves that were noted alike lie evenly over their step; those of 0 m end half a step away. Of n leaves the k-th is
    the quantile k / (n + 1), so that the next one lies below it just so often.
    Hyndman & Fan (1996), Am. Stat. 50, 361-365, definition 6.
    """
    spread = np.empty(len(leaves_m))
    for leave, step in {*zip(leaves_m.tolist(), steps_m.tolist(), strict=True)}:
        alike = (leaves_m == leave) & (steps_m == step)
        low, high = max(0.0, leave - step / 2), leave + step / 2
        number = int(alike.sum())
        spread[alike] = low + (high - low) * (np.arange(number) + 0.5) / number
    return float(np.quantile(spread, share, method="weibull"))


def bootstrap_estimate(values: Array, middle: float) -> Estimate:
    """The value of the sample itself, and the 95 % percentile interval of the resamples."""
    low, high = np.quantile(values, [0.025, 0.975])
    return Estimate(middle, float(low), float(high))
