"""Each fault across the academy: who works on it, how often it was seen, and what became of changes. Pure."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from coachbook.caseload.findings.clusters import Tally, share_words
from coachbook.caseload.findings.plots import Dot, dot_of
from lessons.progress.intervals import Share
from lessons.progress.points import Totals, is_selective
from lessons.progress.significance import benjamini_hochberg
from lessons.progress.trend import Kendall, mann_kendall


class Looks(NamedTuple):
    """On how many arrivals a fault was looked at, and seen by degree."""

    looked: int = 0
    slight: int = 0
    clear: int = 0
    not_graded: int = 0

    @property
    def share(self) -> Share:
        """Seen, of the arrivals where it was looked at."""
        return Share(self.slight + self.clear + self.not_graded, self.looked)

    @property
    def degrees(self) -> str:
        """By degree, the worst first."""
        parts = [(self.clear, "clear"), (self.slight, "slight"), (self.not_graded, "seen, not graded")]
        return ", ".join(
            [*(f"{number} {word}" for number, word in parts if number), f"{self.looked - self.share.seen} good"]
        )


def all_looks(months: Iterable[Looks]) -> Looks:
    """The looks of several months together."""
    return Looks(*map(sum, zip(*months, strict=True)))


@dataclass(frozen=True)
class FaultLine:
    """One fault: who works on it, how often it was looked at and seen, and what became of changes."""

    skill: str
    name: str
    working: int
    months: tuple[Looks, ...]  # oldest first, those in which anybody looked
    arrivals: int  # in its area
    changes: Tally
    anyway: float | None = None  # how many of the changes would have looked good anyway

    @property
    def is_withheld(self) -> bool:
        """Whether it is mostly looked at when it is there, so that its share would mislead."""
        return is_selective(Totals(self.looks.share.seen, self.looks.looked, self.arrivals))

    @property
    def seen_dot(self) -> Dot | None:
        """How often it was seen where it was looked at, for a plot; None where that is not said."""
        if self.is_withheld or not self.looks.looked:
            return None
        return dot_of(self.name, self.looks.share)

    @property
    def held_dot(self) -> Dot:
        """How many of its changes held, for a plot, and how many would have looked good anyway."""
        return dot_of(self.name, self.changes.share, self.changes.effect, self.anyway)

    @cached_property
    def looks(self) -> Looks:
        """All months together."""
        return all_looks(self.months)

    @cached_property
    def trend(self) -> Kendall:
        """Whether the monthly rate rises or falls."""
        return mann_kendall([looks.share.rate for looks in self.months])

    @property
    def halves(self) -> str:
        """What the first half of the months showed, and the second."""
        middle = len(self.months) // 2
        first, second = (all_looks(part).share for part in (self.months[:middle], self.months[middle:]))
        return f"{first.seen} of {first.of} in the first half, {second.seen} of {second.of} in the second"

    @property
    def seen(self) -> str:
        """On how many arrivals it was seen."""
        if self.is_withheld:
            return "not said: it is mostly noted when it is there"
        return share_words(self.looks.share, 1.0) if self.looks.looked else "not looked at"

    @property
    def looked(self) -> str:
        """On how many of the area's arrivals somebody looked."""
        arrivals = max(self.arrivals, self.looks.looked)  # somebody may look at a putt in a lesson on chipping
        return f"{self.looks.looked} of {arrivals}"


def commonest(lines: Iterable[FaultLine]) -> list[FaultLine]:
    """Those that anybody works on or that were seen: first those that most work on, then those most often seen."""
    shown = [line for line in lines if line.working or line.looks.share.seen]
    return sorted(shown, key=lambda line: (-line.working, -line.looks.share.seen, line.name))


def never_seen(lines: Iterable[FaultLine]) -> list[FaultLine]:
    """Those that were looked at and never seen, and on which nobody works."""
    return [line for line in lines if line.looks.looked and not line.working and not line.looks.share.seen]


def most_changed(lines: Iterable[FaultLine]) -> list[FaultLine]:
    """Those with changes that met a next arrival, the most first."""
    return sorted(
        (line for line in lines if line.changes.share.of), key=lambda line: (-line.changes.share.of, line.name)
    )


@dataclass(frozen=True)
class MonthlyTrends:
    """The faults that are seen more often from month to month, and less often; whether any month can tell."""

    more: list[FaultLine]
    less: list[FaultLine]
    can_speak: bool


def monthly_trends(lines: Iterable[FaultLine]) -> MonthlyTrends:
    """Which faults get more or less common: the exact trend of monthly rates, as `benjamini_hochberg` allows."""
    every = [line for line in lines if line.months]
    found = benjamini_hochberg(line.trend.p for line in every)
    called = [line for line, counts in zip(every, found, strict=True) if counts]
    more, less = ([line for line in called if line.trend.s * way > 0] for way in (1, -1))
    return MonthlyTrends(more, less, any(line.trend.smallest_p <= 0.05 for line in every))
