"""A student's own page of progress: what got better, and one picture for each thing.

Nothing here says more than the judgement does: a trend only where it passed its test, a state by its rule.
"""

from dataclasses import dataclass

from lessons.history import JudgedHistory
from lessons.progress import sentences
from lessons.progress.picture import DAYS, LABEL, MIDDLE, SLOT, Line, Picture, Place
from lessons.progress.points import Level
from lessons.progress.trend_sentences import plain_trend

NAMED: tuple[Level, ...] = ("0", "1", "2")  # the rows from the top: good, nearly there, still learning
ROW = 24  # from one line to the next
NAMES = 74  # the names of the rows, left of the dots
BESIDE = 3  # a label right of a line further on would leave the picture
LATEST = 9  # lessons for which there is room beside them


@dataclass(frozen=True)
class Dot:
    """One lesson's first balls: its place, and how good they were."""

    x: int
    y: int
    level: Level


@dataclass(frozen=True)
class Mark:
    """The start or end of a focus: a line, unless it lies before these lessons, and its label on the side with room."""

    line: Line

    @property
    def anchor(self) -> str:
        """The end of the label that touches the line."""
        return "start" if self.line.after <= BESIDE else "end"

    @property
    def label_x(self) -> int:
        """Where that end stands."""
        return self.line.x + (4 if self.anchor == "start" else -4) if self.line.after else 0


@dataclass(frozen=True)
class RisingPicture:
    """The latest lessons as dots that stand higher the better it was; where nobody looked there is none.

    All but its rows is that of the picture that it is made of.
    """

    places: list[Place]
    marks: list[Mark]
    names: list[str]

    @property
    def rows(self) -> list[tuple[int, str]]:
        """The rows from the top: how far down each one's line is, and its name."""
        return [(self.line(number), name) for number, name in enumerate(self.names)]

    @property
    def dots(self) -> list[Dot]:
        """A dot for each lesson with a look; one that nobody graded stands between the two lower rows."""
        levels = ((place.x + MIDDLE, place.row.point.level) for place in self.places)
        return [Dot(x, self.line(row_of(level)), level) for x, level in levels if level != "none"]

    def line(self, row: float) -> int:
        """How far down a row is."""
        return self.top + round(ROW * (row + 0.5))

    @property
    def has_ungraded(self) -> bool:
        """Whether a look says no more than that it was not good yet."""
        return any(dot.level == "any" for dot in self.dots)

    @property
    def top(self) -> int:
        """The top of the rows, below the labels of the lines."""
        return LABEL * len(self.marks) + 4

    @property
    def days(self) -> int:
        """The top of the days."""
        return self.top + ROW * len(NAMED)

    @property
    def width(self) -> int:
        """The whole width."""
        return NAMES + SLOT * LATEST

    @property
    def height(self) -> int:
        """The whole height."""
        return self.days + DAYS

    @property
    def names_width(self) -> int:
        """How far right the dots begin."""
        return NAMES


def row_of(level: Level) -> float:
    """The row of a level, from the top; what was not graded lies between the two lower ones."""
    return NAMED.index(level) if level in NAMED else 1.5


def rising(picture: Picture) -> RisingPicture:
    """The picture for a student, of the same lessons."""
    names = [picture.labels.levels[level] for level in NAMED]
    return RisingPicture(picture.places, [Mark(line) for line in picture.lines], names)


def what_got_better(judged: JudgedHistory) -> str:
    """What an open focus has to show for it: it is holding, or its trend is clear; empty where neither can be said."""
    found = judged.judgement
    if not judged.history.is_open or not found.state or found.has_selective_looks:
        return ""
    if found.state.word in ("holding", "ready_to_close"):
        return sentences.plain_state(found.state)
    if found.state.word == "returned":
        return ""
    return plain_trend(found.trend) if found.trend and found.trend.kind and found.trend.kendall.s < 0 else ""
