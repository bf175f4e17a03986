"""Where the parts of a history's picture stand: its latest arrivals, what the lessons left, and how often it was seen.

All lengths are units of the picture's own; on the narrowest phone one unit is about one pixel.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import NamedTuple

from lessons.progress.intervals import Interval, wilson
from lessons.progress.points import Count, Level, LookPoint, strip
from lessons.progress.sentences import interval_words
from lessons.progress.states import Span
from lessons.progress.words import Voice, on

ROOM = 12  # arrivals for which a phone has room
SLOT = 24
MIDDLE = SLOT // 2
STRIP = ROOM * SLOT
AXIS = 28  # all, half and none, right of the rate
WIDTH = STRIP + AXIS
LABEL = 14  # one line of words
MARKS = 34  # one row of marks
DAYS = 3 * 13  # day, month and year
HEADING = 18
PLOT = 56  # from none to all
OFTEN = HEADING + PLOT + 18  # the heading of the rate, its plot, and its numbers
STEP = 7  # one arrival in a bar
EDGE = 6  # how far the band reaches to either side of a look


@dataclass(frozen=True)
class Row:
    """One arrival, with the words that its reader reads; `left_word` is nothing where nobody looked on departure."""

    point: LookPoint
    count: Count | None
    word: str
    left_word: str = ""

    @property
    def seen_height(self) -> int:
        """The filled part of its bar."""
        return STEP * self.count.seen if self.count else 0

    @property
    def looked_height(self) -> int:
        """Its whole bar: a count of few looks stays low, so that it cannot pass for one of eight."""
        return STEP * self.count.looked if self.count else 0

    @property
    def interval(self) -> Interval | None:
        """How far its rate may be off."""
        return wilson(self.count.share) if self.count else None

    @property
    def interval_words(self) -> str:
        """The same in words; nothing where nobody looked."""
        return interval_words(self.interval) if self.interval else ""


@dataclass(frozen=True)
class Place:
    """A row at `x`; a month, year or coach is named where it differs from the place before."""

    x: int
    row: Row
    month: str
    year: str
    coach: str


@dataclass(frozen=True)
class Line:
    """A day that matters: after how many of the arrivals it falls, where its line stands, and its label.

    One that falls before the first of them has a label and no line.
    """

    after: int
    y: int
    text: str

    @property
    def x(self) -> int:
        """Where the line stands, within the picture."""
        return SLOT * self.after

    @property
    def anchor(self) -> str:
        """Which end of the label stands at the line."""
        return "start" if self.x <= STRIP // 2 else "end"

    @property
    def top(self) -> int:
        """Where it begins: beside its own label, below the others."""
        return self.y - 9

    @property
    def label_x(self) -> int:
        """Where the label begins, or ends when it is anchored at its end."""
        if self.after == 0:
            return 0
        return self.x + (4 if self.anchor == "start" else -4)


class Dot(NamedTuple):
    """The rate at one look, and its interval; all measured downwards from where a rate of all stands."""

    x: int
    y: float
    low: float
    high: float


@dataclass(frozen=True)
class Picture:
    """The latest arrivals, the lines between them, and how far down each part begins.

    A row of departures is there where the reader is shown any.
    """

    places: list[Place]
    lines: list[Line]
    coaches: dict[str, str]
    voice: Voice

    @property
    def departures(self) -> bool:
        """Whether any of these lessons looked on departure."""
        return any(place.row.left_word for place in self.places)

    @property
    def top(self) -> int:
        """Where the marks begin, below the labels of the lines and the name of the row."""
        return LABEL * len(self.lines) + (LABEL if self.voice.arrival else 0) + 4

    @property
    def left(self) -> int:
        """Where the marks of departures begin, below the name of their row."""
        return self.top + MARKS + LABEL

    @property
    def days(self) -> int:
        """Where the days begin."""
        return self.left + MARKS if self.departures else self.top + MARKS

    @property
    def below(self) -> int:
        """Where the rate begins."""
        return self.days + DAYS + LABEL * bool(self.coaches) + 4

    @property
    def height(self) -> int:
        """The height of it all; a rate is there where anybody looked."""
        return self.below + (OFTEN if self.dots else 0)

    @property
    def width(self) -> int:
        """The width of it all."""
        return WIDTH

    @property
    def dots(self) -> list[Dot]:
        """The rate at every look."""
        return [
            Dot(place.x + MIDDLE, down(count.share.rate), down(may_be.low), down(may_be.high))
            for place in self.places
            if (count := place.row.count) and (may_be := place.row.interval)
        ]

    @property
    def curve(self) -> str:
        """The rates as the points of a line."""
        return points((dot.x, dot.y) for dot in self.dots)

    @property
    def band(self) -> str:
        """The intervals as the points of an area, a little wider than the looks, so that one look has one, too."""
        dots = self.dots
        if not dots:
            return ""
        ends = [dots[0]._replace(x=dots[0].x - EDGE), *dots, dots[-1]._replace(x=dots[-1].x + EDGE)]
        return points([(dot.x, dot.high) for dot in ends] + [(dot.x, dot.low) for dot in reversed(ends)])


def down(rate: float) -> float:
    """How far below a rate of all a rate stands."""
    return round(PLOT * (1 - rate), 1)


def points(pairs: Iterable[tuple[int, float]]) -> str:
    """Places as SVG writes them."""
    return " ".join(f"{x},{y:g}" for x, y in pairs)


def rows(history: list[LookPoint], voice: Voice) -> list[Row]:
    """Every arrival, oldest first, in the reader's words."""
    return [
        Row(slot.point, counted(slot.lately, voice), voice.marks[slot.point.level], left_word(slot.point.left, voice))
        for slot in strip(history)
    ]


def left_word(level: Level, voice: Voice) -> str:
    """What this reader is shown of a departure: nothing where nobody looked, or to a student."""
    return "" if level == "none" or not voice.departure else voice.marks[level]


def counted(lately: Count | None, voice: Voice) -> Count | None:
    """The count that this reader is shown: with the fault, or clean of it."""
    return lately._replace(seen=lately.looked - lately.seen) if lately and voice.counts_clean else lately


def picture(all_rows: list[Row], spans: Sequence[Span], voice: Voice) -> Picture:
    """The picture of the latest rows, with the days on which each focus was taken on and closed."""
    latest = all_rows[-ROOM:]
    short = shortened(row.point.coach for row in latest)
    return Picture(
        places=list(places(latest, short)),
        lines=lines(latest, spans, voice),
        coaches={letters: name for name, letters in short.items()} if voice.names_coaches and len(short) > 1 else {},
        voice=voice,
    )


def places(latest: list[Row], short: dict[str, str]) -> Iterator[Place]:
    """Each row at its place from the left."""
    pairs: list[tuple[Row | None, Row]] = [(None, latest[0]), *pairwise(latest)] if latest else []
    for number, (before, row) in enumerate(pairs):
        day, old = row.point.day, before.point.day if before else date.min
        yield Place(
            x=SLOT * number,
            row=row,
            month=f"{day:%b}" if (day.year, day.month) != (old.year, old.month) else "",
            year=str(day.year) if day.year != old.year else "",
            coach=short[row.point.coach] if before is None or before.point.coach != row.point.coach else "",
        )


def lines(all_rows: list[Row], spans: Sequence[Span], voice: Voice) -> list[Line]:
    """The days on which the focuses were taken on and closed, among these rows; the latest ones even from before them.

    A line stands after the last arrival up to its day: what is decided in a lesson comes after its arrival.
    """
    found = []
    for span in spans:
        for word, day in ((voice.taken, span.taken), (voice.closed, span.closed)):
            after = sum(row.point.day <= day for row in all_rows) if day else 0
            if day and (after or span == spans[-1]):
                found.append((after, f"{'' if after else '← '}{word} {on(day)}"))
    return [Line(after, LABEL * number + 11, text) for number, (after, text) in enumerate(found)]


def shortened(names: Iterable[str]) -> dict[str, str]:
    """The initials of each coach in the order in which they teach; a number tells apart those who share them."""
    short: dict[str, str] = {}
    for name in dict.fromkeys(names):
        letters = "".join(word[0] for word in name.split())
        same = sum(other.rstrip("0123456789") == letters for other in short.values())
        short[name] = f"{letters}{same + 1}" if same else letters
    return short
