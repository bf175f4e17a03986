"""Whether a yes or no becomes rarer from look to look, where looks come in streaks and several coaches look.

Looks that resemble the one before make S vary more than looks in any order would: by about (1 + r) / (1 - r) where each
copies the last one with probability r. Looks of different coaches are not compared with one another.

What is usual is stated, not estimated from the academy's rows: fifty histories would tell an average within some 5
points, but one average is wrong for each student. Where 0.1 is taken for usual, a steady fault whose looks copy at 0.3
is called better at some time over 24 arrivals in 10 to 12 of 100, in place of 6 to 8. `calibrate` prints both.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import sqrt

from lessons.progress.trend import Split

USUAL = 0.3  # streakiness before anything is known of a fault. Common practice, no source
WORTH = 4.0  # and for how many expected changes it counts beside those of the fault itself
MOST = 0.5  # a fault that was there and is gone is no streak: streakiness is never taken to be more


@dataclass(frozen=True)
class YesNoTrend:
    """Kendall's S of a yes or no, later less earlier, the splits of its looks, and its variance with their streaks."""

    s: int = 0
    splits: tuple[Split, ...] = ()
    variance: float = 0.0
    streakiness: float = USUAL

    @property
    def z(self) -> float:
        """S in standard deviations."""
        return standardised(self.s, self.variance)


def standardised(s: int, variance: float) -> float:
    """S in standard deviations, with a continuity correction; 0 where nothing can be compared."""
    if s == 0 or variance == 0:
        return 0.0
    return (s - (1 if s > 0 else -1)) / sqrt(variance)


def yes_no_trend(values: Sequence[bool], coaches: Sequence[str], usual: float = USUAL) -> YesNoTrend:
    """The trend of looks, oldest first, each by one coach, compared within each coach.

    Blocks that are not compared with one another: Hirsch, Slack & Smith (1982), Water Resour. Res. 18, 107-121.
    """
    of = Counter(coaches)
    yes = Counter(coach for coach, value in zip(coaches, values, strict=True) if value)
    splits = tuple((yes[coach], of[coach] - yes[coach]) for coach in of)
    chance = sum(a * b * (a + b + 1) for a, b in splits) / 3
    if chance == 0:
        return YesNoTrend(0, splits)
    weights = places_in_block(coaches, of)
    s = sum(weight for weight, value in zip(weights, values, strict=True) if value)
    found = streakiness(values, coaches, yes, of, usual)
    wider = alone_inflation(len(values), found) if len(of) == 1 else inflation(weights, coaches, of, found)
    return YesNoTrend(s, splits, chance * wider, found)


def places_in_block(coaches: Sequence[str], of: Counter[str]) -> Sequence[int]:
    """The weight of each look in S: how many looks of its coach came before, less how many came after."""
    if len(of) == 1:
        return range(1 - len(coaches), len(coaches), 2)
    so_far: Counter[str] = Counter()
    weights = []
    for coach in coaches:
        weights.append(2 * so_far[coach] + 1 - of[coach])
        so_far[coach] += 1
    return weights


def streakiness(
    values: Sequence[bool], coaches: Sequence[str], yes: Counter[str], of: Counter[str], usual: float = USUAL
) -> float:
    """How likely a look copies the one before, 0 to MOST: by the changes that are missing, shrunk to what is usual."""
    changes = sum(one is not other for one, other in pairwise(values))
    if len(of) == 1:
        [(coach, number)] = of.items()
        expected = 2 * yes[coach] * (number - yes[coach]) / number
    else:
        rates = {coach: yes[coach] / number for coach, number in of.items()}
        expected = sum(disagreement(rates[one], rates[other]) for one, other in pairwise(coaches))
    found = 1 - (WORTH * (1 - usual) + changes) / (WORTH + expected)
    return round(min(MOST, max(0.0, found)), 2)  # no finer than it can be known


def disagreement(one: float, other: float) -> float:
    """How likely two independent looks with these rates differ."""
    return one * (1 - other) + other * (1 - one)


def inflation(weights: Sequence[int], coaches: Sequence[str], of: Counter[str], copies: float) -> float:
    """By how much streaks widen the variance that S would have in any order; never less than 1.

    The looks of one coach vary less around their own share where they come in streaks, which is made up for.
    """
    apart = quadratic_form(weights, copies)
    within = sum(
        (number + 1) * (number * number - quadratic_form([coach == each for each in coaches], copies))
        for coach, number in of.items()
    )
    return max(1.0, 3 * apart / within)


@lru_cache(maxsize=4096)
def alone_inflation(looks: int, copies: float) -> float:
    """The same where one coach made all looks."""
    return inflation(range(1 - looks, looks, 2), [""] * looks, Counter({"": looks}), copies)


def quadratic_form(weights: Sequence[float], copies: float) -> float:
    """The variance of a weighted sum of looks of variance 1 whose correlation at distance k is copies^k."""
    total = carried = 0.0
    for weight in weights:
        total += weight * (weight + 2 * carried)
        carried = copies * (carried + weight)
    return total
