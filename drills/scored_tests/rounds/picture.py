"""Coordinates of the chart of rounds, in SVG user units: about one pixel each on the narrowest phone."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil, floor
from typing import NamedTuple

from drills.models import Round
from drills.scored_tests.rounds.summary import FULL, per_18
from lessons.progress.words import on

LEFT, WIDTH = 26, 310  # the numbers of the axis are left of the plot
RIGHT = WIDTH - 8
TOP, PLOT = 22, 110  # below the name of the plot
TESTS = TOP + PLOT + 32  # the row of test days, below its name
DAYS = 11  # one line of text
STEPS = (1, 2, 5, 10, 20, 50, 100, 200, 500)
LINES = 5  # at most, across the plot
LABEL = 34  # half the width of a day's label


class Dot(NamedTuple):
    """A round; one of fewer than 18 holes is drawn as a ring."""

    x: float
    y: float
    is_whole: bool


class Tick(NamedTuple):
    """A number on the left, or a day below, with its coordinate."""

    at: float
    text: str


@dataclass(frozen=True)
class Picture:
    """The rounds, oldest first, and the days of scored tests on the same time axis. Needs at least one round."""

    rounds: Sequence[Round]
    test_days: Sequence[date]

    @property
    def days(self) -> tuple[date, date]:
        """The first and the last day of rounds and tests."""
        days = [*(each.day for each in self.rounds), *self.test_days]
        return min(days), max(days)

    @property
    def scale(self) -> range:
        """The values of the grid lines, around every round."""
        values = [per_18(each.putts, each.holes) for each in self.rounds]
        low, high = floor(min(values) - 0.5), ceil(max(values) + 0.5)
        step = next(step for step in STEPS if (high - low) / step <= LINES - 2)
        return range(low // step * step, -(-high // step) * step + 1, step)

    @property
    def lines(self) -> list[Tick]:
        """The grid lines with their numbers."""
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
        """The x coordinates of the days of tests."""
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
        """The y coordinate of the day labels."""
        return TESTS + 28 if self.test_days else TOP + PLOT + 18

    @property
    def height(self) -> int:
        """The height of the chart."""
        return self.foot + DAYS

    def x(self, day: date) -> float:
        """The x coordinate of a day; the middle if there is only one."""
        first, last = self.days
        if first == last:
            return (LEFT + RIGHT) / 2
        inner = RIGHT - LEFT - 12  # so that no dot touches the edge
        return round(LEFT + 6 + inner * (day - first) / (last - first), 1)

    def y(self, value: float) -> float:
        """The y coordinate of a number of putts: more is higher."""
        low, high = self.scale[0], self.scale[-1]
        return round(TOP + PLOT * (high - value) / (high - low), 1)

    left, right, width, tests_at = LEFT, RIGHT, WIDTH, TESTS
