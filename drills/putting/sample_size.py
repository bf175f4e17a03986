"""Sample size: how many balls show a real change, and how many fit the minutes of a lesson."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, inf, log
from statistics import NormalDist

POWER, LEVEL = 0.8, 0.05
BALLS_A_MINUTE = {"leaves": 7, "gate": 9, "counted": 6, "chips": 4}  # common practice, no source


def balls_to_tell(one: float, other: float, power: float = POWER, level: float = LEVEL) -> int:
    """How many balls each time tell two rates apart with this power at this two-sided level.

    Raises ValueError for rates outside 0 to 1 or two that are the same. Fleiss, Levin & Paik (2003), Statistical
    Methods for Rates and Proportions, 3rd ed., ch. 4, without pooling or correction.
    """
    if not (0 <= one <= 1 and 0 <= other <= 1) or one == other:
        raise ValueError(f"two different rates from 0 to 1, not {one} and {other}")
    normal = NormalDist()
    reach = normal.inv_cdf(1 - level / 2) + normal.inv_cdf(power)
    return max(2, ceil(reach**2 * (one * (1 - one) + other * (1 - other)) / (one - other) ** 2))


def spread_balls_to_tell(ratio: float, power: float = POWER, level: float = LEVEL) -> int:
    """How many measured leaves each time tell two spreads of this ratio apart; two-sided.

    The log of a standard deviation of n normal values has a variance of about 1 / (2n - 2). Raises ValueError for a
    ratio of 0 or less, or of 1.
    """
    if not 0 < ratio < inf or ratio == 1:
        raise ValueError(f"a ratio above 0 other than 1, not {ratio}")
    normal = NormalDist()
    reach = normal.inv_cdf(1 - level / 2) + normal.inv_cdf(power)
    return ceil(1 + (reach / log(ratio)) ** 2)


@dataclass(frozen=True)
class BallsAtDistance:
    """So many balls of one kind from one distance."""

    kind: str
    distance_m: float
    balls: int


def balls_for(minutes: float, distances_m: Sequence[float], kind: str) -> list[BallsAtDistance]:
    """The balls of a test that fit the minutes at hand, spread evenly over its distances, five from each at least.

    Fewer distances, the middle ones first, where there is no time for all. Raises ValueError for no minutes or
    distances, KeyError for an unknown kind.
    """
    if not 0 < minutes < inf or not distances_m:
        raise ValueError("a test needs minutes above 0 and at least one distance")
    balls, ordered = int(minutes * BALLS_A_MINUTE[kind]), sorted(distances_m)
    stations = max(1, min(len(ordered), balls // 5))
    middle = (len(ordered) - 1) / 2
    nearest = sorted(range(len(ordered)), key=lambda place: abs(place - middle))[:stations]
    return [BallsAtDistance(kind, ordered[place], max(1, balls // stations)) for place in sorted(nearest)]
