"""What became of the changes for which a drill was given, beside the other drills for the same fault. Pure.

A student counts once for a drill and a fault: with the first time that it was given and a later arrival has shown. A
drill that is given again until it holds would else look better than it is.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from drills.library.holding.pooling import Pool, Pooled, pool
from lessons.progress.held import Held, Verdict, count_verdicts
from lessons.progress.held_sentences import held_parts
from lessons.progress.intervals import Share
from lessons.progress.sentences import FEW, interval_words, percent, share_words
from lessons.progress.words import counted

WIDTH, ROW, LABEL, LINES = 320, 44, 16, 30  # of the picture: a row holds the name of its drill and its line below


class Case(NamedTuple):
    """One time a drill was given for a fault; without a verdict where no later arrival has shown what became of it."""

    drill: int
    student: int
    verdict: Verdict | None


@dataclass(frozen=True)
class DrillLine:
    """One drill for a fault: with how many students, and what a later arrival showed of them."""

    name: str
    code: str
    given: int
    held: Held
    pooled: Pooled | None = None  # known from two drills on
    is_this: bool = False

    @property
    def share(self) -> Share:
        """The students with whom it held, of those whom a later arrival has shown."""
        return self.held.share

    @property
    def is_enough(self) -> bool:
        """Whether so many students were shown that it may be compared at all."""
        return self.pooled is not None and self.share.of >= FEW

    @property
    def counts(self) -> str:
        """Held, partly and lost, in students."""
        return f"{counted(self.share.of, 'student')}: {held_parts(self.held)}" if self.share.of else "nobody yet"

    @property
    def numbers(self) -> str:
        """Its own share, and the share moved towards the common one, each with its interval where enough were shown."""
        words = f"{share_words(self.share)} by itself" if self.share.of else "nobody yet"
        if self.pooled is None or not self.is_enough:
            return words
        rate, interval = self.pooled
        return f"{words}; {percent(rate)}, 95% interval {interval_words(interval)}, together with the others"


@dataclass(frozen=True)
class Bar:
    """A drill in the picture, with the places of its line: from, to, and its share."""

    line: DrillLine
    y: int
    low: float
    high: float
    at: float

    @property
    def label_y(self) -> int:
        """Where its name stands."""
        return self.y - LINES + LABEL


@dataclass(frozen=True)
class FaultReport:
    """A drill for one fault, beside the others; `asked` and `reported` are sessions of this drill."""

    fault: str
    lines: Sequence[DrillLine]
    pool: Pool | None
    asked: int
    reported: int

    @property
    def this(self) -> DrillLine:
        """The drill whose page it is."""
        return next(line for line in self.lines if line.is_this)

    @property
    def unseen(self) -> int:
        """The students of this drill of whom no later arrival has shown anything."""
        return self.this.given - self.this.share.of

    @cached_property
    def bars(self) -> list[Bar]:
        """The drills that may be compared; empty where there are not two."""
        shown = [line for line in self.lines if line.is_enough]
        if len(shown) < 2:
            return []
        return [bar_of(line, number) for number, line in enumerate(shown)]

    @property
    def common_at(self) -> float:
        """Where the common share stands in the picture."""
        return round(self.pool.common * WIDTH, 1) if self.pool else 0.0

    @property
    def height(self) -> int:
        """Of the picture, above the words of its axis."""
        return ROW * len(self.bars)

    @property
    def more(self) -> list[DrillLine]:
        """The drills whose whole interval lies above the common share."""
        return [
            bar.line for bar in self.bars if self.pool and bar.line.pooled and lies_above(bar.line.pooled, self.pool)
        ]

    @property
    def less(self) -> list[DrillLine]:
        """The drills whose whole interval lies below the common share."""
        return [
            bar.line for bar in self.bars if self.pool and bar.line.pooled and lies_below(bar.line.pooled, self.pool)
        ]

    @property
    def words(self) -> str:
        """What may be said of the drills beside one another, in one or two sentences."""
        if not self.bars:
            return (
                f"Cannot tell yet: drills are set beside each other once two of them were shown by {FEW} students each."
            )
        found = [named(self.more, "more"), named(self.less, "fewer")]
        return (
            " ".join(filter(None, found)) or "Cannot tell these drills apart: each may hold as often as all of them do."
        )

    @property
    def common(self) -> str:
        """The common share, in whole percent, and how strongly it draws."""
        if not self.pool:
            return ""
        added = counted(round(self.pool.added), "further student")
        counted_with = f"It draws as if {added} at that share had been counted with each drill."
        return f"The common share is {percent(self.pool.common)}. {counted_with}"


def named(lines: Sequence[DrillLine], how: str) -> str:
    """A sentence on drills that stand out."""
    if not lines:
        return ""
    names = " and ".join(f"“{line.name}”" for line in lines)
    return f"After {names} {how} changes held than is common for this fault."


def lies_above(pooled: Pooled, found: Pool) -> bool:
    """Whether even the lower end is more than the common share."""
    return pooled.interval.low > found.common


def lies_below(pooled: Pooled, found: Pool) -> bool:
    """Whether even the upper end is less than the common share."""
    return pooled.interval.high < found.common


def bar_of(line: DrillLine, number: int) -> Bar:
    """The places of one drill in the picture. Raises ValueError for one that is not compared."""
    if line.pooled is None:
        raise ValueError(f"{line.name} is not compared")
    low, high, at = (round(value * WIDTH, 1) for value in (*line.pooled.interval, line.pooled.rate))
    return Bar(line, ROW * number + LINES, low, high, at)


def tally(cases: Iterable[Case]) -> dict[int, tuple[int, Held]]:
    """For each drill how many students it was given to, and the first known verdict of each; cases oldest first."""
    students: dict[int, dict[int, Verdict | None]] = defaultdict(dict)
    for drill, student, verdict in cases:
        if students[drill].get(student) is None:
            students[drill][student] = verdict
    return {
        drill: (len(verdicts), count_verdicts(filter(None, verdicts.values()))) for drill, verdicts in students.items()
    }


def compare(cases: Iterable[Case], names: dict[int, tuple[str, str]], this: int) -> tuple[list[DrillLine], Pool | None]:
    """A line for each drill, this one first and the others by name; pooled from two on that somebody was shown of."""
    found = tally(cases)
    order = sorted(found, key=lambda drill: (drill != this, names[drill]))
    shares = [found[drill][1].share for drill in order]
    pooled = pool(shares) if sum(share.of > 0 for share in shares) > 1 else None
    each: Sequence[Pooled | None] = pooled.drills if pooled else [None] * len(order)
    lines = [
        DrillLine(*names[drill], *found[drill], own, drill == this) for drill, own in zip(order, each, strict=True)
    ]
    return lines, pooled
