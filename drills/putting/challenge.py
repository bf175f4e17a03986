"""A distance or a gate at which a student succeeds about so often: neither too easy nor too hard.

Guadagnoli & Lee (2004), J. Mot. Behav. 36, 212-224: how much is learned depends on how hard a task is for this learner.
The share itself is a coach's setting; common practice, no source.
"""

import numpy as np

from drills.putting.hole import gate_width_m
from drills.putting.model import Array, holed, starts

USUAL = 0.7
SHORTEST_PUTT_M, LONGEST_PUTT_M = 0.3, 15.0


def holing_distance_m(draws: Array, share: float = USUAL) -> float | None:
    """The distance from which putters like these hole this share; None if it lies outside the range that is searched.

    Raises ValueError for a share that is not between 0 and 1.
    """
    check_share(share)
    distances = np.geomspace(SHORTEST_PUTT_M, LONGEST_PUTT_M, 120)
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
    """Raise ValueError unless a share is between 0 and 1."""
    if not 0 < share < 1:
        raise ValueError(f"a share lies between 0 and 1, not {share}")
