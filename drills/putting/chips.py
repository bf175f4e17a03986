"""What chips leave: how far from the hole, how often up and down, and how many strokes."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import inf

import numpy as np

from drills.putting.model import Array
from drills.putting.posterior import Estimate

Rates = Callable[[Array], Array]  # the chance to hole a putt from some distances: (putters, distances)
RESAMPLES = 400
SEED = 20


@dataclass(frozen=True)
class Chipping:
    """What some chips come to: the usual leave, up and down of all, and strokes to hole out, the chip counted."""

    balls: int
    leave_m: Estimate
    up_and_down: Estimate
    strokes: Estimate
    nearer: float  # strokes saved if every chip stopped a fifth nearer
    surer: float  # strokes saved if a fifth of the missed second putts were holed


def chipping(leaves_m: Sequence[float], holed: int, putts: Rates) -> Chipping:
    """What chips say through a curve of putts, with the doubt in both: balls drawn again, and putters drawn.

    Chips that were holed need no putt. Raises ValueError for no balls, or a leave that is no length.
    Efron (1979), Ann. Stat. 7, 1-26.
    """
    if holed < 0 or len(leaves_m) + holed == 0 or not all(0 <= leave < inf for leave in leaves_m):
        raise ValueError("no chips, no chipping")
    leaves = np.array([*leaves_m, *([0.0] * holed)])
    rates = np.where(leaves > 0, putts(leaves), 1.0)  # (putters, balls)
    putters, balls = rates.shape
    rng = np.random.default_rng(SEED)
    drawn = rng.integers(balls, size=(RESAMPLES, balls))
    who = np.arange(RESAMPLES)[:, None] % putters
    saves = rates[who, drawn].mean(axis=1)
    takes = (1 + np.where(leaves > 0, 2 - rates, 0.0))[who, drawn].mean(axis=1)
    nearer = np.where(leaves > 0, putts(0.8 * leaves), 1.0)
    return Chipping(
        balls=balls,
        leave_m=estimate(np.median(leaves[drawn], axis=1), float(np.median(leaves))),
        up_and_down=estimate(saves, float(rates.mean())),
        strokes=estimate(takes, float((1 + np.where(leaves > 0, 2 - rates, 0.0)).mean())),
        nearer=float((nearer - rates).mean()),
        surer=float((0.2 * (1 - rates)).mean()),
    )


def estimate(values: Array, middle: float) -> Estimate:
    """The middle as it was counted, and the 95 % of what came out when drawn again."""
    low, high = np.quantile(values, [0.025, 0.975])
    return Estimate(middle, float(low), float(high))
