"""What the arrivals of a student showed of one fault, and on how many of the latest it was seen."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from functools import cache
from itertools import groupby
from operator import attrgetter
from typing import Literal, NamedTuple

from lessons.progress.intervals import Share

Degree = Literal["clear", "slight", "not_graded"]
# How a look is drawn: not looked at, good, slight, clear, or seen and not graded.
Level = Literal["none", "0", "1", "2", "any"]
LEVELS: dict[Degree, Level] = {"slight": "1", "clear": "2", "not_graded": "any"}
# Quicker than a loop, where every point is asked.
DAY, LOOKED, SHOWN = attrgetter("day"), attrgetter("looked"), attrgetter("shown")
WINDOW = 8  # common practice, no source: a coach asks about the last eight arrivals


# The lowest and the highest grade that a level may mean: what was not graded may be slight or clear.
GRADE_RANGE: dict[Level, tuple[int, int]] = {"0": (0, 0), "1": (1, 1), "2": (2, 2), "any": (1, 2)}


@cache
def is_better(one: Level, other: Level) -> bool:
    """Whether one level is better than another, whatever the grade of one that was not graded.

    Raises KeyError where nobody looked.
    """
    return GRADE_RANGE[one][1] < GRADE_RANGE[other][0]


class PointFields(NamedTuple):
    """What a point holds: what it was made of, and what follows from that, computed once since every count needs it."""

    day: date
    looked: bool
    degree: Degree | None
    coach: str
    departure: Level
    practice_reported: str
    seen: bool
    level: Level
    shown: tuple[Level, Level]
    changed: bool


class LookPoint(PointFields):
    """What one arrival showed of one fault: looked at and without a degree is good.

    `departure` is the level at departure, `practice_reported` what the student reported on that arrival. From these
    follow whether the fault was `seen`, the `level` on arrival, both levels as `shown`, and whether the lesson
    `changed` it for the better. Raises ValueError for a degree where nobody looked.
    """

    __slots__ = ()

    def __new__(
        cls,
        day: date,
        looked: bool,
        degree: Degree | None,
        coach: str,
        departure: Level = "none",
        practice_reported: str = "",
    ) -> "LookPoint":
        if degree and not looked:
            raise ValueError(f"{day}: a degree, though nobody looked")
        followed = what_follows(looked, degree, departure)
        return tuple.__new__(cls, (day, looked, degree, coach, departure, practice_reported, *followed))


@cache
def what_follows(
    looked: bool, degree: Degree | None, departure: Level
) -> tuple[bool, Level, tuple[Level, Level], bool]:
    """Whether a fault was seen, the level on arrival, both levels, and whether the lesson made it better."""
    level: Level = LEVELS[degree] if degree else "0" if looked else "none"
    is_changed = level != "none" and departure != "none" and is_better(departure, level)
    return degree is not None, level, (level, departure), is_changed


class Count(NamedTuple):
    """On how many of the arrivals that were looked at, up to and including this day's, the fault was seen."""

    day: date
    seen: int
    looked: int

    @property
    def share(self) -> Share:
        """Seen, of those that were looked at."""
        return Share(self.seen, self.looked)


class LookCounts(NamedTuple):
    """The looks between two days, counted by what they showed."""

    begins: date
    ends: date
    good: int
    slight: int
    clear: int
    not_graded: int

    @property
    def share(self) -> Share:
        """Seen, of all looks."""
        return Share(self.slight + self.clear + self.not_graded, self.good + self.slight + self.clear + self.not_graded)


class CountedPoint(NamedTuple):
    """One arrival with the count up to it; None where nobody looked."""

    point: LookPoint
    lately: Count | None


class Totals(NamedTuple):
    """Arrivals where the fault was seen, where it was looked at, and all."""

    seen: int
    looked: int
    arrivals: int

    @property
    def share(self) -> Share:
        """Seen, of those that were looked at."""
        return Share(self.seen, self.looked)

    @property
    def good(self) -> int:
        """Arrivals where it was looked at and not seen."""
        return self.looked - self.seen

    @property
    def not_looked_at(self) -> int:
        """Arrivals on which it was not looked at."""
        return self.arrivals - self.looked


def looks(points: Sequence[LookPoint]) -> list[LookPoint]:
    """The points where somebody looked, in their order."""
    return [point for point in points if point.looked]


def first_of_each_day(points: Iterable[LookPoint]) -> list[LookPoint]:
    """The first point of each day, in their order: what comes later that day follows a lesson."""
    return list({point.day: point for point in reversed(list(points))}.values())[::-1]


def one_a_day(points: Iterable[LookPoint]) -> list[LookPoint]:
    """Each day once, in their order: its first look, or its first arrival where nobody looked."""
    found: dict[date, LookPoint] = {}
    for point in points:
        if point.day not in found or (point.looked and not found[point.day].looked):
            found[point.day] = point
    return list(found.values())


LevelCounts = Mapping[tuple[Level, Level], int]  # how often each level on arrival stood beside each on departure


def count_levels(points: Iterable[LookPoint]) -> LevelCounts:
    """How often the points showed each pair of levels."""
    return Counter(map(SHOWN, points))


def totals(points: Iterable[LookPoint]) -> Totals:
    """A whole history in three numbers."""
    return totals_of(count_levels(points))


def totals_of(counts: LevelCounts) -> Totals:
    """The same of what was counted before."""
    every = sum(counts.values())
    looked = sum(number for (level, _), number in counts.items() if level != "none")
    return Totals(looked - sum(number for (level, _), number in counts.items() if level == "0"), looked, every)


def frequency(points: Sequence[LookPoint], window: int = WINDOW) -> list[Count]:
    """For each arrival that was looked at, the count over the last `window` such arrivals, fewer at the beginning.

    Takes n points, oldest first, and gives one count for each of the looked-at ones. Raises ValueError for a
    window under 1.
    """
    if window < 1:
        raise ValueError("a window holds at least one arrival")
    looked = looks(points)
    windows = [looked[max(0, end - window) : end] for end in range(1, len(looked) + 1)]
    return [Count(latest[-1].day, sum(point.seen for point in latest), len(latest)) for latest in windows]


def counted_points(points: Sequence[LookPoint], window: int = WINDOW) -> list[CountedPoint]:
    """The points, oldest first, each with the count up to it. Raises ValueError as `frequency` does."""
    counts = iter(frequency(points, window))
    return [CountedPoint(point, next(counts) if point.looked else None) for point in points]


def count_looks(looked: Sequence[LookPoint]) -> LookCounts:
    """Count what some looks showed, oldest first. Raises IndexError for no looks."""
    levels = Counter(point.level for point in looked)
    return LookCounts(looked[0].day, looked[-1].day, levels["0"], levels["1"], levels["2"], levels["any"])


def by_month(points: Iterable[LookPoint]) -> list[LookCounts]:
    """Count what the looks of each month showed, for months that had any; takes and gives oldest first."""
    months = groupby((point for point in points if point.looked), key=lambda point: (point.day.year, point.day.month))
    return [count_looks(list(month)) for _, month in months]


def has_selective_looks(points: Sequence[LookPoint], counted: Totals | None = None) -> bool:
    """Whether a fault was mostly looked at when it was there, so that a rate would mislead.

    That is where the whole history `is_selective`, or where it was looked at on at least three, but fewer than half, of
    the arrivals since it was first seen, and seen on three quarters of them or more. Common practice, no source. Takes
    the `totals` where they were counted before.
    """
    every = counted or totals(points)
    first = next((place for place, point in enumerate(points) if point.seen), len(points))
    looked, arrivals = every.looked - sum(map(LOOKED, points[:first])), every.arrivals - first
    is_rare = looked >= 3 and 2 * looked < arrivals and 4 * every.seen >= 3 * looked
    return is_rare or is_selective(every)


def is_selective(total: Totals) -> bool:
    """Whether the looks of twelve arrivals or more, three at least, come mostly from days on which it was there.

    Every look saw it, and a quarter of the arrivals had none; or five of six saw it, and two of five had none.
    """
    if total.arrivals < 12 or total.looked < 3:
        return False
    if total.seen == total.looked and 4 * total.looked <= 3 * total.arrivals:
        return True
    return 6 * total.seen >= 5 * total.looked and 5 * total.looked <= 3 * total.arrivals
