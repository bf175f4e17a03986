"""Measure coverage of the intervals, and false alarms and power of the trend, beside their targets."""

from argparse import ArgumentParser
from collections.abc import Callable, Iterable
from itertools import combinations_with_replacement, product
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from drills.putting.calibration import PARAMETER_NAMES, TESTS, measure_coverage, pace_width_ratio
from drills.scored_tests.results.calibration import putter_rows
from lessons.progress.calibration import (
    Cell,
    Row,
    SimulatedStudent,
    beside_limits,
    coverage,
    difference_cells,
    false_alarms,
    pairs_cells,
    share_cells,
    share_significant,
)
from lessons.progress.scenarios import trend_rows
from lessons.progress.state_calibration import state_rows
from lessons.progress.streak_calibration import streak_rows

SIZES = range(5, 41)
SOME = (*range(5, 17), 20, 30, 40)  # of two sizes and of pairs: the worst is among the small
SMALL = range(5, 12)
FINE = [step / 50 for step in range(3, 48)]
CORRELATIONS = (-0.6, -0.3, 0.0, 0.3, 0.6)
LOOKS = (6, 8, 10, 12, 16, 20, 21, 24, 30, 40)  # from 21 on by the normal approximation
STEADY = tuple(product((0.1, 0.2, 0.3, 0.5, 0.7, 0.8, 0.9), (0.0, 0.2, 0.5, 0.8)))  # seen, and of these clear
MEAN, WORST_SHARE, WORST_DIFFERENCE, ALARMS = "94-97%", ">= 89%", ">= 87%", "<= 5.5%"
PUTTER = "93-98%"
FADING = {
    "degrees fade 0.9 to 0.1": SimulatedStudent((0.9, 0.1), (0.9, 0.1)),
    "degrees fade 0.75 to 0.25": SimulatedStudent((0.9, 0.1), (0.75, 0.25)),
    "degrees stay at one half": SimulatedStudent((0.9, 0.1), (0.5, 0.5)),
    "yes or no only": SimulatedStudent((0.9, 0.1), (0.0, 0.0), is_graded=False),
    "milder, as often": SimulatedStudent((0.9, 0.9), (0.9, 0.1)),
}


# Each gives the rows of its scenarios for so many pages or putters.
SCENARIOS: dict[str, Callable[[int], Iterable[Row]]] = {
    "trends": trend_rows,
    "streaks taken for usual": streak_rows,
    "states": state_rows,
    "putters": putter_rows,
}


class Command(BaseCommand):
    """`calibrate`: coverage, false alarms and power, and putters estimated from simulated putts."""

    help = "Measures coverage of the intervals, and false alarms and power of the trend, beside their targets."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """`--histories`: how many are drawn where not all can be counted; a quarter as many putters."""
        parser.add_argument("--histories", type=int, default=4000)

    def handle(self, *args: Any, histories: int, **options: Any) -> None:
        """Print the tables."""
        if histories < 1:
            raise CommandError("Draw one history at least.")
        self.cover()
        self.alarm(histories)
        self.fade(histories)
        self.putt(max(1, histories // 4))
        self.happen(max(2, histories // 20))

    def cover(self) -> None:
        """Print the coverage of each interval, over every possible count."""
        self.stdout.write(f"{'95% interval':<30}{'mean':>7}{'target':>8}{'worst':>8}{'target':>8}  worst at")
        two = list(combinations_with_replacement(SOME, 2))
        small = list(combinations_with_replacement(SMALL, 2))
        self.line("a share", share_cells(SIZES), WORST_SHARE)
        self.line("a share, every rate", beside_limits(SIZES), WORST_SHARE, searched=True)
        self.line("a difference", difference_cells(two), WORST_DIFFERENCE)
        self.line("a difference, fiftieths", difference_cells(small, FINE), WORST_DIFFERENCE, searched=True)
        self.line("a paired one", pairs_cells(SOME, CORRELATIONS), WORST_DIFFERENCE)
        self.line("a paired one, fiftieths", pairs_cells(SMALL, CORRELATIONS, FINE), WORST_DIFFERENCE, searched=True)
        self.stdout.write("In twentieths the targets are met; between them the method itself misses by half a point.")

    def line(self, name: str, cells: Iterable[Cell], target: str, searched: bool = False) -> None:
        """Print one interval; a search for the worst has no useful average."""
        mean, worst = coverage(cells)
        told = f"{'':>15}" if searched else f"{mean:>7.1%}{MEAN:>8}"
        self.stdout.write(f"{name:<30}{told}{worst.coverage:>8.1%}{target:>8}  {worst.where}")

    def alarm(self, histories: int) -> None:
        """Print the highest rate of false alarms for steady students, and the same simulated through the whole page."""
        self.stdout.write(f"\n{'false alarms':<30}{'counted':>9}{'target':>9}{'drawn':>9}  worst at")
        for number in LOOKS:
            rate, seen, clear = max((false_alarms(number, *steady), *steady) for steady in STEADY)
            drawn = share_significant(SimulatedStudent((seen, seen), (clear, clear)), number, histories, seed=number)
            told = f"{rate:>9.1%}{ALARMS:>9}{drawn:>9.1%}"
            self.stdout.write(f"{f'{number} looks':<30}{told}  seen {seen:.1f}, of these clear {clear:.1f}")

    def fade(self, histories: int) -> None:
        """How often a fault that is seen ever less is called."""
        numbers = (8, 12, 20, 30)
        self.stdout.write(
            f"\n{'power, seen 0.9 to 0.1':<30}" + "".join(f"{f'{number} looks':>10}" for number in numbers)
        )
        for name, course in FADING.items():
            shares = (share_significant(course, number, histories, seed=number) for number in numbers)
            self.stdout.write(f"{name:<30}" + "".join(f"{share:>10.0%}" for share in shares))

    def happen(self, tries: int) -> None:
        """Print what a page says where life happens, each beside its mark."""
        self.stdout.write(f"\n{'what really happens':<72}{'said':>8}{'mark':>9}")
        for name, rows in SCENARIOS.items():
            self.stdout.write(name)
            for row in rows(tries):
                self.stdout.write(f"  {row.name:<70}{row.value:>8.1%}{row.mark or '-':>9}")

    def putt(self, putters: int) -> None:
        """How often the 95 % intervals of a putter hold the truth, and what noting the short ones does to pace."""
        self.stdout.write(f"\n{f'putters, target {PUTTER}':<30}" + "".join(f"{name:>12}" for name in PARAMETER_NAMES))
        for seed, (name, test) in enumerate(TESTS.items()):
            coverage_of_test = measure_coverage(test, putters, seed)
            shares = (f"{'silent':>12}" if share is None else f"{share:>12.1%}" for share in coverage_of_test.shares)
            self.stdout.write(f"{name:<30}{''.join(shares)}")
        self.stdout.write(
            f"One standard error of 95 % is {coverage_of_test.error:.1%}. Silent: the test says nothing of it."
        )
        for number in (120, 240):
            pace = pace_width_ratio(max(1, putters // 10), number, seed=number)
            width = f"{pace.log:.0%} on a log scale, {pace.plain:.0%} on its own"
            self.stdout.write(
                f"width of the pace interval of {number} putts with short ones noted, of that without: {width}"
            )
