"""The trend of the looks at a fault by Kendall's S, allowing for streaks and for reading it again and again.

Every arrival is a new chance to be misled. The limit that S has to pass is therefore high for few looks, as O'Brien &
Fleming (1979), Biometrics 35, 549-556, proposed for repeated tests, and from the middle of a season on rises slowly
for as long as somebody reads. Of steady students at most 8 in 100 are called better at some time over 24 arrivals
(12 where half of all looks copy the last one): the spending of Lan & DeMets (1983), Biometrika 70, 659-663, here
measured, and printed by `calibrate`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import sqrt

from lessons.progress.intervals import Z95
from lessons.progress.points import Level
from lessons.progress.significance import two_sided
from lessons.progress.streaks import USUAL, YesNoTrend, standardised, yes_no_trend
from lessons.progress.trend import Kendall

LEVEL = 0.05  # of a single trend, two-sided
LEAST_LIMIT = 1.85  # standard deviations; chosen so that steady students in streaks keep the marks of `calibrate`
LIMIT_AT = 18  # looks at which the limit is least
GROWTH = 0.1  # above that it grows by this power of the looks


@dataclass(frozen=True)
class SequentialTrend:
    """The two parts of S: seen or good in all looks, and clear or slight in those that were graded."""

    seen: YesNoTrend
    clear: YesNoTrend
    looks: int

    @cached_property
    def kendall(self) -> Kendall:
        """S of both parts, with its distribution if every order of each coach's looks were equally likely."""
        return Kendall(self.seen.s + self.clear.s, self.seen.splits + self.clear.splits, self.looks)

    @cached_property
    def z(self) -> float:
        """S in standard deviations, allowing for streaks."""
        return standardised(self.seen.s + self.clear.s, self.seen.variance + self.clear.variance)

    @cached_property
    def p(self) -> float:
        """The two-sided p-value, allowing for streaks and repeated reading; never below that of all orders."""
        p = p_value(self.z, self.looks)
        return max(p, self.kendall.p) if p <= LEVEL else p

    @property
    def seen_p(self) -> float:
        """The same of how often it is seen alone."""
        return p_value(self.seen.z, self.looks)

    @property
    def clear_p(self) -> float:
        """The same of how clear it is where it is seen."""
        return p_value(self.clear.z, self.looks)

    @property
    def can_be_significant(self) -> bool:
        """Whether any order of these looks could be, even without streaks."""
        most = sum(a * b for a, b in self.kendall.splits)
        highest = standardised(most, self.kendall.variance)
        return highest >= limit(self.looks) and self.kendall.smallest_p <= LEVEL


def sequential_trend(levels: Sequence[Level], coaches: Sequence[str], usual: float = USUAL) -> SequentialTrend:
    """The trend of looks, oldest first, each by one coach. Raises ValueError for one where nobody looked.

    `usual` is how streaky looks are before anything is known of these.
    """
    if "none" in levels:
        raise ValueError("a look where nobody looked has no degree")
    graded = [(level == "2", coach) for level, coach in zip(levels, coaches, strict=True) if level in ("1", "2")]
    clear = yes_no_trend([value for value, _ in graded], [coach for _, coach in graded], usual)
    return SequentialTrend(yes_no_trend([level != "0" for level in levels], coaches, usual), clear, len(levels))


def limit(looks: int) -> float:
    """How many standard deviations a trend of so many looks has to reach, however often it is read."""
    if looks < LIMIT_AT:
        return LEAST_LIMIT * sqrt(LIMIT_AT / max(looks, 1))
    return LEAST_LIMIT * float((looks / LIMIT_AT) ** GROWTH)


def p_value(z: float, looks: int) -> float:
    """The p-value of a trend that is read again at every look: LEVEL at the limit."""
    return two_sided(z * Z95 / limit(looks))
