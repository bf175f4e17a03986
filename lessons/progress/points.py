"""What the arrivals of a student showed of one fault, and how often they showed it lately."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import groupby
from typing import Literal, NamedTuple

from lessons.progress.intervals import Share

Degree = Literal["marked", "slight", "unsaid"]
# How high a point stands: nobody looked, clean, a half bar, a full bar, or a bar whose height was not said.
Level = Literal["none", "0", "1", "2", "any"]
HEIGHTS: dict[Degree, Level] = {"slight": "1", "marked": "2", "unsaid": "any"}
WINDOW = 8  # common practice, no source: a coach asks about the last eight arrivals


# From the best to the worst that a level may mean: of what was not said how bad, only that it was there.
REACH: dict[Level, tuple[int, int]] = {"0": (0, 0), "1": (1, 1), "2": (2, 2), "any": (1, 2)}


def is_better(one: Level, other: Level) -> bool:
    """Whether one level is better than another, whatever a degree that was not said may be.

    Raises KeyError where nobody looked.
    """
    return REACH[one][1] < REACH[other][0]


@dataclass(frozen=True, init=False)
class LookPoint:
    """What one arrival showed of one fault: looked at and without a degree is clean.

    `left` is the level at departure, `told` the practice that the student told of on that arrival. Raises ValueError
    for a degree where nobody looked.
    """

    day: date
    looked: bool
    degree: Degree | None
    coach: str
    left: Level
    told: str
    # Worked out once, since every count asks for them: whether the fault was there, how high its mark stands, and
    # whether the lesson made it better.
    seen: bool = field(init=False, repr=False, compare=False)
    level: Level = field(init=False, repr=False, compare=False)
    changed: bool = field(init=False, repr=False, compare=False)

    def __init__(
        self, day: date, looked: bool, degree: Degree | None, coach: str, left: Level = "none", told: str = ""
    ) -> None:
        if degree and not looked:
            raise ValueError(f"{day}: a degree, though nobody looked")
        level: Level = HEIGHTS[degree] if degree else "0" if looked else "none"
        vars(self).update(
            day=day,
            looked=looked,
            degree=degree,
            coach=coach,
            left=left,
            told=told,
            seen=degree is not None,
            level=level,
            changed=looked and left != "none" and is_better(left, level),
        )


class Count(NamedTuple):
    """On how many of the arrivals that were looked at, up to and including this day's, the fault was seen."""

    day: date
    seen: int
    looked: int

    @property
    def share(self) -> Share:
        """Seen, of those that were looked at."""
        return Share(self.seen, self.looked)


class Stretch(NamedTuple):
    """The looks between two days, by what they showed; degrees are counted, since milder is better, too."""

    begins: date
    ends: date
    sound: int
    slight: int
    marked: int
    unsaid: int

    @property
    def share(self) -> Share:
        """Seen, of all looks."""
        return Share(self.slight + self.marked + self.unsaid, self.sound + self.slight + self.marked + self.unsaid)


class Slot(NamedTuple):
    """One arrival of the strip, with the count that it comes to; no count where nobody looked."""

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
    def clean(self) -> int:
        """Arrivals where it was looked at and not there."""
        return self.looked - self.seen

    @property
    def unlooked(self) -> int:
        """Arrivals that say nothing of it."""
        return self.arrivals - self.looked


def looks(points: Sequence[LookPoint]) -> list[LookPoint]:
    """The points where somebody looked, in their order."""
    return [point for point in points if point.looked]


def totals(points: Sequence[LookPoint]) -> Totals:
    """All of a history in three numbers."""
    return Totals(sum(point.seen for point in points), len(looks(points)), len(points))


def frequency(points: Sequence[LookPoint], window: int = WINDOW) -> list[Count]:
    """For each arrival that was looked at, the count over the last `window` such arrivals, fewer at the beginning.

    Takes n points, oldest first, and gives one count for each of the looked-at ones. Raises ValueError for a
    window under 1.
    """
    if window < 1:
        raise ValueError("a window holds at least one arrival")
    looked = looks(points)
    spans = [looked[max(0, end - window) : end] for end in range(1, len(looked) + 1)]
    return [Count(span[-1].day, sum(point.seen for point in span), len(span)) for span in spans]


def strip(points: Sequence[LookPoint], window: int = WINDOW) -> list[Slot]:
    """The points, oldest first, each with the count that it comes to. Raises ValueError as `frequency` does."""
    counts = iter(frequency(points, window))
    return [Slot(point, next(counts) if point.looked else None) for point in points]


def stretch(looked: Sequence[LookPoint]) -> Stretch:
    """What some looks showed, oldest first. Raises IndexError for none."""
    levels = Counter(point.level for point in looked)
    return Stretch(looked[0].day, looked[-1].day, levels["0"], levels["1"], levels["2"], levels["any"])


def by_month(points: Iterable[LookPoint]) -> list[Stretch]:
    """What the looks of each month showed that had any, oldest first; takes points oldest first."""
    months = groupby((point for point in points if point.looked), key=lambda point: (point.day.year, point.day.month))
    return [stretch(list(month)) for _, month in months]


def only_when_bad(points: Sequence[LookPoint]) -> bool:
    """Whether a fault was mostly looked at when it was there, so that a rate would mislead.

    So it is where fewer than half of the arrivals since it was first seen were looked at, three at least, and it was
    there on three quarters of them or more. Common practice, no source.
    """
    first = next((place for place, point in enumerate(points) if point.seen), len(points))
    total = totals(points[first:])
    return total.looked >= 3 and 2 * total.looked < total.arrivals and 4 * total.seen >= 3 * total.looked
