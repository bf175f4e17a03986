"""Where the parts of the picture of rounds stand. Units of its own; on the narrowest phone one is about a pixel."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil, floor
from typing import NamedTuple

from drills.models import Round
from drills.scored_tests.rounds.summary import FULL, per_18
from lessons.progress.words import on

LEFT, WIDTH = 26, 310  # the numbers of the axis stand left of the plot
RIGHT = WIDTH - 8
TOP, PLOT = 22, 110  # below the name of the plot
TESTS = TOP + PLOT + 32  # where the marks of tests begin, below the name of their row
DAYS = 11  # one line of words
STEPS = (1, 2, 5, 10, 20, 50, 100, 200, 500)
LINES = 5  # at most, across the plot
LABEL = 34  # half the width of a day's label


class Dot(NamedTuple):
    """A round; one of fewer holes says less, and is drawn hollow."""

    x: float
    y: float
    is_whole: bool


class Tick(NamedTuple):
    """A number on the left, or a day below, with its place."""

    at: float
    text: str


@dataclass(frozen=True)
class Picture:
    """The rounds, oldest first, and the days of scored tests on the same line of time. Needs one round at least."""

    rounds: Sequence[Round]
    test_days: Sequence[date]

    @property
    def days(self) -> tuple[date, date]:
        """The first and the last day of it all."""
        days = [*(each.day for each in self.rounds), *self.test_days]
        return min(days), max(days)

    @property
    def scale(self) -> range:
        """The numbers at which lines stand, around every round."""
        values = [per_18(each.putts, each.holes) for each in self.rounds]
        low, high = floor(min(values) - 0.5), ceil(max(values) + 0.5)
        step = next(step for step in STEPS if (high - low) / step <= LINES - 2)
        return range(low // step * step, -(-high // step) * step + 1, step)

    @property
    def lines(self) -> list[Tick]:
        """The lines across, with their numbers."""
        return [Tick(self.y(value), str(value)) for value in self.scale]

    @property
    def dots(self) -> list[Dot]:
        """Every round."""
        return [
            Dot(self.x(each.day), self.y(per_18(each.putts, each.holes)), each.holes >= FULL) for each in self.rounds
        ]

    @property
    def has_rings(self) -> bool:
        """Whether any round had fewer holes."""
        return not all(dot.is_whole for dot in self.dots)

    @property
    def tests(self) -> list[float]:
        """Where the days of tests stand."""
        return [self.x(day) for day in self.test_days]

    @property
    def labels(self) -> list[Tick]:
        """The first and the last day; one label where they are the same."""
        first, last = self.days
        if first == last:
            return [Tick(self.x(first), on(first))]
        return [Tick(LEFT + LABEL, on(first)), Tick(RIGHT - LABEL, on(last))]

    @property
    def foot(self) -> int:
        """Where the days begin."""
        return TESTS + 28 if self.test_days else TOP + PLOT + 18

    @property
    def height(self) -> int:
        """The height of it all."""
        return self.foot + DAYS

    def x(self, day: date) -> float:
        """Where a day stands; in the middle where there is only one."""
        first, last = self.days
        if first == last:
            return (LEFT + RIGHT) / 2
        inner = RIGHT - LEFT - 12  # so that no dot stands on the edge
        return round(LEFT + 6 + inner * (day - first) / (last - first), 1)

    def y(self, value: float) -> float:
        """Where so many putts stand: more is higher."""
        low, high = self.scale[0], self.scale[-1]
        return round(TOP + PLOT * (high - value) / (high - low), 1)

    left, right, width, tests_at = LEFT, RIGHT, WIDTH, TESTS
