"""A challenge that a student meets about so often: not too easy, not too hard.

Guadagnoli & Lee (2004), J. Mot. Behav. 36, 212-224: how much is learned depends on how hard a task is for this learner.
The share itself is a coach's setting; common practice, no source.
"""

import numpy as np

from drills.putting.hole import gate_width_m
from drills.putting.model import Array, holed, starts

USUAL = 0.7
NEAREST_M, FARTHEST_M = 0.3, 15.0


def holing_distance_m(draws: Array, share: float = USUAL) -> float | None:
    """The distance from which putters like these hole this share; nothing where even the nearest or farthest misses it.

    Raises ValueError for a share that is not between 0 and 1.
    """
    check_share(share)
    distances = np.geomspace(NEAREST_M, FARTHEST_M, 120)
    rates = holed(draws, distances).mean(axis=0)
    if not rates[-1] <= share <= rates[0]:
        return None
    falling = np.minimum.accumulate(rates)
    return float(np.interp(-share, -falling, distances))


def gate_at_m(draws: Array, distance_m: float, share: float = USUAL) -> float:
    """The width of a gate at a distance that putters like these send this share of balls through.

    Raises ValueError for a share that is not between 0 and 1.
    """
    check_share(share)
    errors = np.linspace(0.0, 20.0, 401)
    rates = starts(draws, -errors, errors).mean(axis=0)
    return gate_width_m(distance_m, float(np.interp(share, rates, errors)))


def check_share(share: float) -> None:
    """Refuse a share that is none."""
    if not 0 < share < 1:
        raise ValueError(f"{share} is no share to aim for")
