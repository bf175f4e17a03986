"""Where the parts of a history's picture stand: the strip of its latest arrivals and, below, how often it was seen.

All lengths are units of the picture's own; on the narrowest phone one unit is one pixel.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from lessons.progress.points import Count, LookPoint, strip
from lessons.progress.words import Voice, on

ROOM = 12  # arrivals for which a phone has room
SLOT = 26
WIDTH = ROOM * SLOT
STEP = 6  # one arrival in a bar
LABEL = 14  # one line of words
STRIP = 84  # marks, and day, month and year under them
OFTEN = 68  # the heading of the counts, their bars and their numbers


@dataclass(frozen=True)
class Row:
    """One arrival, with the word that its reader reads."""

    point: LookPoint
    count: Count | None
    word: str

    @property
    def seen_height(self) -> int:
        """The filled part of its bar."""
        return STEP * self.count.seen if self.count else 0

    @property
    def looked_height(self) -> int:
        """Its whole bar: a count of few looks stays low, so that it cannot pass for one of five."""
        return STEP * self.count.looked if self.count else 0


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
        return min(SLOT * self.after, WIDTH - 1)

    @property
    def anchor(self) -> str:
        """Which end of the label stands at the line."""
        return "start" if self.x <= WIDTH // 2 else "end"

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


@dataclass(frozen=True)
class Picture:
    """The latest arrivals, the lines between them, and how far down each part begins."""

    places: list[Place]
    lines: list[Line]
    coaches: dict[str, str]

    @property
    def top(self) -> int:
        """Where the strip begins, below the labels of the lines."""
        return LABEL * len(self.lines) + 4

    @property
    def below(self) -> int:
        """Where the counts begin."""
        return self.top + STRIP + LABEL * bool(self.coaches)

    @property
    def height(self) -> int:
        """The height of it all."""
        return self.below + OFTEN

    @property
    def width(self) -> int:
        """The width of it all."""
        return WIDTH


def rows(points: list[LookPoint], voice: Voice) -> list[Row]:
    """Every arrival, oldest first, in the reader's words."""
    return [Row(slot.point, counted(slot.lately, voice), voice.marks[slot.point.level]) for slot in strip(points)]


def counted(lately: Count | None, voice: Voice) -> Count | None:
    """The count that this reader is shown: with the fault, or clean of it."""
    return lately._replace(seen=lately.looked - lately.seen) if lately and voice.counts_clean else lately


def picture(all_rows: list[Row], *, taken: date | None, closed: date | None, voice: Voice) -> Picture:
    """The picture of the latest rows, with the days on which the focus was taken on and closed."""
    latest = all_rows[-ROOM:]
    coaches = {initials(row.point.coach): row.point.coach for row in latest}
    return Picture(
        places=list(places(latest)),
        lines=lines(latest, taken=taken, closed=closed, voice=voice),
        coaches=coaches if voice.names_coaches and len(coaches) > 1 else {},
    )


def places(latest: list[Row]) -> Iterator[Place]:
    """Each row at its place from the left."""
    pairs: list[tuple[Row | None, Row]] = [(None, latest[0]), *pairwise(latest)] if latest else []
    for number, (before, row) in enumerate(pairs):
        day, old = row.point.day, before.point.day if before else date.min
        yield Place(
            x=SLOT * number,
            row=row,
            month=f"{day:%b}" if (day.year, day.month) != (old.year, old.month) else "",
            year=str(day.year) if day.year != old.year else "",
            coach=initials(row.point.coach) if before is None or before.point.coach != row.point.coach else "",
        )


def lines(all_rows: list[Row], *, taken: date | None, closed: date | None, voice: Voice) -> list[Line]:
    """The days on which the focus was taken on and closed, among these rows.

    A line stands after the last arrival up to its day: what is decided in a lesson comes after its arrival.
    """
    days = [(word, day) for word, day in ((voice.taken, taken), (voice.closed, closed)) if day]
    after = [sum(row.point.day <= day for row in all_rows) for _, day in days]
    texts = [f"{'' if n else '← '}{word} {on(day)}" for n, (word, day) in zip(after, days, strict=True)]
    return [Line(n, LABEL * number + 11, text) for number, (n, text) in enumerate(zip(after, texts, strict=True))]


def initials(name: str) -> str:
    """The first letters of a name's words."""
    return "".join(word[0] for word in name.split())
