"""The trend of a fault from look to look: rarer or milder, or not; exact for few looks.

The statistic is Kendall's S: of all pairs of looks, those where the later one is worse less those where it is better.
One that was not graded is worse than good and is not compared with slight or clear.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import sqrt

from lessons.progress.points import Level
from lessons.progress.significance import two_sided

EXACT_UP_TO = 20  # looks; above, the normal approximation keeps its level and is quick
Split = tuple[int, int]  # two groups of looks, each look of one compared with each of the other


@dataclass(frozen=True)
class Kendall:
    """S, and the group sizes that give its distribution under chance, a sum of independent parts."""

    s: int
    splits: tuple[Split, ...]
    looks: int

    @property
    def variance(self) -> float:
        """The variance of S if every order of the looks were equally likely."""
        return sum(a * b * (a + b + 1) for a, b in self.splits) / 3

    @property
    def z(self) -> float:
        """S in standard deviations, with a continuity correction; 0 where nothing can be compared."""
        if self.s == 0 or self.variance == 0:
            return 0.0
        return (self.s - (1 if self.s > 0 else -1)) / sqrt(self.variance)

    @cached_property
    def p(self) -> float:
        """The two-sided p-value of S: exact up to 20 looks, above by the normal approximation."""
        if self.looks > EXACT_UP_TO:
            return two_sided(self.z)
        return tail_probability(self.splits, abs(self.s))

    @property
    def smallest_p(self) -> float:
        """The smallest p-value that any order of these looks could have."""
        most = sum(a * b for a, b in self.splits)
        return Kendall(most, self.splits, self.looks).p if most else 1.0


def mann_kendall(values: Sequence[float]) -> Kendall:
    """The trend of numbers, oldest first, with ties.

    Mann (1945), Econometrica 13, 245-259; Kendall (1975), Rank Correlation Methods, 4th ed.; the correction for ties as
    in US EPA (2009), Unified Guidance 530/R-09-007, 17.3.2.
    """
    s = sum((later > earlier) - (later < earlier) for n, later in enumerate(values) for earlier in values[:n])
    rest, splits = len(values), []
    for value in sorted(groups := Counter(values)):
        rest -= groups[value]
        splits.append((groups[value], rest))
    return Kendall(s, tuple(splits), len(values))


def degree_trend(levels: Sequence[Level]) -> Kendall:
    """The trend of looks, oldest first. Raises ValueError for one where nobody looked."""
    if "none" in levels:
        raise ValueError("a look where nobody looked has no degree")
    so_far: Counter[str] = Counter()
    s = 0
    for level in levels:
        s += worse_than(level, so_far) - better_than(level, so_far)
        so_far[level] += 1
    good, slight, clear = so_far["0"], so_far["1"], so_far["2"]
    return Kendall(s, ((good, len(levels) - good), (slight, clear)), len(levels))


def worse_than(level: Level, looks: Counter[str]) -> int:
    """How many looks were better than this one."""
    if level == "0":
        return 0
    return looks["0"] + (looks["1"] if level == "2" else 0)


def better_than(level: Level, looks: Counter[str]) -> int:
    """How many looks were worse than this one."""
    if level == "0":
        return looks["1"] + looks["2"] + looks["any"]
    return looks["2"] if level == "1" else 0


@lru_cache(maxsize=4096)
def tail_probability(splits: tuple[Split, ...], least: int) -> float:
    """The probability that S is at least `least` from 0, if every order is equally likely."""
    counts = [1]
    for one, other in splits:
        counts = multiply(counts, gaussian_binomial(one, other))
    most = sum(a * b for a, b in splits)  # S = most - 2 * place
    far = sum(count for place, count in enumerate(counts) if abs(most - 2 * place) >= least)
    return far / sum(counts)


@lru_cache(maxsize=1024)
def gaussian_binomial(one: int, other: int) -> list[int]:
    """The Gaussian binomial coefficient: for each number of inversions, how many orders of two groups have it."""
    counts = [1]
    for step in range(1, min(one, other) + 1):
        counts = divide_by_gap(multiply_by_gap(counts, max(one, other) + step), step)
    return counts


def multiply_by_gap(polynomial: list[int], step: int) -> list[int]:
    """A polynomial times 1 - q^step."""
    longer = polynomial + [0] * step
    return [value - (longer[place - step] if place >= step else 0) for place, value in enumerate(longer)]


def divide_by_gap(polynomial: list[int], step: int) -> list[int]:
    """A polynomial divided by 1 - q^step, without remainder."""
    quotient = list(polynomial)
    for place in range(step, len(quotient)):
        quotient[place] += quotient[place - step]
    return quotient[: len(quotient) - step]


def multiply(one: list[int], other: list[int]) -> list[int]:
    """The product of two polynomials."""
    product = [0] * (len(one) + len(other) - 1)
    for place, value in enumerate(one):
        for beside, factor in enumerate(other):
            product[place + beside] += value * factor
    return product
