"""The layout of a history's picture: its latest arrivals and departures, and how often the fault was seen.

All lengths are in the picture's own units; on the narrowest phone one unit is about one pixel.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import NamedTuple

from lessons.progress.focus_states import Span
from lessons.progress.intervals import Interval, wilson
from lessons.progress.points import Count, Level, LookPoint, counted_points, has_selective_looks
from lessons.progress.sentences import interval_words
from lessons.progress.words import HistoryLabels, on

ROOM = 12  # arrivals for which a phone has room
SLOT = 24
MIDDLE = SLOT // 2
STRIP = ROOM * SLOT
AXIS = 28  # all, half and none, right of the rate
WIDTH = STRIP + AXIS
LABEL = 14  # one line of words
SYMBOLS = 34  # one row of symbols
DAYS = 3 * 13  # day, month and year
HEADING = 18
PLOT = 56  # from none to all
OFTEN = HEADING + PLOT + 18  # the heading of the rate, its plot, and its numbers
STEP = 7  # one arrival in a bar
EDGE = 6  # how far the band reaches on either side of a look


@dataclass(frozen=True)
class Row:
    """One arrival in its reader's words; `departure_word` is empty where nobody looked on departure."""

    point: LookPoint
    count: Count | None
    word: str
    departure_word: str = ""

    @property
    def seen_height(self) -> int:
        """The height of the filled part of its bar."""
        return STEP * self.count.seen if self.count else 0

    @property
    def looked_height(self) -> int:
        """The height of its whole bar, one step a look, so that few looks never look like eight."""
        return STEP * self.count.looked if self.count else 0

    @property
    def interval(self) -> Interval | None:
        """The 95 % interval of its rate."""
        return wilson(self.count.share) if self.count else None

    @property
    def interval_words(self) -> str:
        """The same in words; empty where nobody looked."""
        return interval_words(self.interval) if self.interval else ""


@dataclass(frozen=True)
class Place:
    """A row at `x`; month, year and coach are given where they differ from the row before."""

    x: int
    row: Row
    month: str
    year: str
    coach: str


@dataclass(frozen=True)
class Line:
    """The day on which a focus was opened or closed, drawn as a line after so many arrivals, with its label.

    A day before the first arrival has a label and no line.
    """

    after: int
    y: int
    text: str

    @property
    def x(self) -> int:
        """The line's distance from the left."""
        return SLOT * self.after

    @property
    def anchor(self) -> str:
        """The end of the label that touches the line."""
        return "start" if self.x <= STRIP // 2 else "end"

    @property
    def top(self) -> int:
        """The top of the line: beside its own label, below the others."""
        return self.y - 9

    @property
    def label_x(self) -> int:
        """The start of the label, or its end where it is anchored there."""
        if self.after == 0:
            return 0
        return self.x + (4 if self.anchor == "start" else -4)


class Dot(NamedTuple):
    """The rate at one look with its interval, measured downwards from a rate of 1."""

    x: int
    y: float
    low: float
    high: float


@dataclass(frozen=True)
class Picture:
    """The latest arrivals, the lines between them, and the top of each part.

    There is a row of departures where the reader is shown any.
    """

    places: list[Place]
    lines: list[Line]
    coaches: dict[str, str]
    labels: HistoryLabels

    @property
    def departures(self) -> bool:
        """Whether any of these lessons looked on departure."""
        return any(place.row.departure_word for place in self.places)

    @property
    def top(self) -> int:
        """The top of the symbols, below the labels of the lines and the name of the row."""
        return LABEL * len(self.lines) + (LABEL if self.labels.arrival else 0) + 4

    @property
    def departure_top(self) -> int:
        """The top of the symbols of departures, below the name of their row."""
        return self.top + SYMBOLS + LABEL

    @property
    def days(self) -> int:
        """The top of the days."""
        return self.departure_top + SYMBOLS if self.departures else self.top + SYMBOLS

    @property
    def below(self) -> int:
        """The top of the rate."""
        return self.days + DAYS + LABEL * bool(self.coaches) + 4

    @property
    def height(self) -> int:
        """The whole height; there is a rate where anybody looked."""
        return self.below + (OFTEN if self.dots else 0)

    @property
    def width(self) -> int:
        """The whole width."""
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
        """The intervals as the points of an area, a little wider than the looks, so that a single look has one, too."""
        dots = self.dots
        if not dots:
            return ""
        ends = [dots[0]._replace(x=dots[0].x - EDGE), *dots, dots[-1]._replace(x=dots[-1].x + EDGE)]
        return points([(dot.x, dot.high) for dot in ends] + [(dot.x, dot.low) for dot in reversed(ends)])


def down(rate: float) -> float:
    """The distance of a rate below a rate of 1."""
    return round(PLOT * (1 - rate), 1)


def points(pairs: Iterable[tuple[int, float]]) -> str:
    """Coordinates as SVG writes them."""
    return " ".join(f"{x},{y:g}" for x, y in pairs)


def rows(history: list[LookPoint], labels: HistoryLabels) -> list[Row]:
    """Every arrival, oldest first, in the reader's words; without counts where these would mislead."""
    is_withheld = has_selective_looks(history)
    return [
        Row(
            slot.point,
            None if is_withheld else shown_count(slot.lately, labels),
            labels.levels[slot.point.level],
            departure_word(slot.point.departure, labels),
        )
        for slot in counted_points(history)
    ]


def departure_word(level: Level, labels: HistoryLabels) -> str:
    """The word for a departure: empty where nobody looked, and for a student."""
    return "" if level == "none" or not labels.departure else labels.levels[level]


def shown_count(lately: Count | None, labels: HistoryLabels) -> Count | None:
    """The count for this reader: of looks on which the fault was seen, or of good ones."""
    return lately._replace(seen=lately.looked - lately.seen) if lately and labels.counts_good else lately


def picture(all_rows: list[Row], spans: Sequence[Span], labels: HistoryLabels) -> Picture:
    """The picture of the latest rows, with the days on which each focus was opened and closed."""
    latest = all_rows[-ROOM:]
    short = shortened(row.point.coach for row in latest)
    return Picture(
        places=list(places(latest, short)),
        lines=lines(latest, spans, labels),
        coaches={letters: name for name, letters in short.items()} if labels.names_coaches and len(short) > 1 else {},
        labels=labels,
    )


def places(latest: list[Row], short: dict[str, str]) -> Iterator[Place]:
    """Each row with its distance from the left."""
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


def lines(all_rows: list[Row], spans: Sequence[Span], labels: HistoryLabels) -> list[Line]:
    """The days on which focuses were opened and closed, among these rows; those of the latest focus even before them.

    A line comes after the last arrival up to its day: what is decided in a lesson comes after its arrival.
    """
    found = []
    for span in spans:
        for word, day in ((labels.opened, span.opened), (labels.closed, span.closed)):
            after = sum(row.point.day <= day for row in all_rows) if day else 0
            if day and (after or span == spans[-1]):
                found.append((after, f"{'' if after else '← '}{word} {on(day)}"))
    return [Line(after, LABEL * number + 11, text) for number, (after, text) in enumerate(found)]


def shortened(names: Iterable[str]) -> dict[str, str]:
    """The initials of each coach in the order in which they taught; a number tells apart those who share them."""
    short: dict[str, str] = {}
    for name in dict.fromkeys(names):
        letters = "".join(word[0] for word in name.split())
        same = sum(other.rstrip("0123456789") == letters for other in short.values())
        short[name] = f"{letters}{same + 1}" if same else letters
    return short
