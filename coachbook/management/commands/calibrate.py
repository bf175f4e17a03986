"""Measure how often the intervals hold the truth and how often a trend is called, beside the marks that they keep."""

from argparse import ArgumentParser
from collections.abc import Iterable
from itertools import combinations_with_replacement, product
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from drills.putting.calibration import NAMES, TESTS, held, pace_width_ratio
from lessons.progress.calibration import (
    Cell,
    SimulatedStudent,
    beside_limits,
    coverage,
    difference_cells,
    false_alarms,
    pairs_cells,
    share_significant,
    share_cells,
)

SIZES = range(5, 41)
SOME = (*range(5, 17), 20, 30, 40)  # of two sizes and of pairs: the worst is among the small
SMALL = range(5, 12)
FINE = [step / 50 for step in range(3, 48)]
CORRELATIONS = (-0.6, -0.3, 0.0, 0.3, 0.6)
LOOKS = (6, 8, 10, 12, 16, 20, 21, 24, 30, 40)  # 21 is the first that the normal judges
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


class Command(BaseCommand):
    """`calibrate`: coverage, false alarms and power, and putters found again from their putts."""

    help = "Measures how often the intervals hold the truth and how often a trend is called, with the marks beside."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """`--histories`: how many are drawn where not all can be counted; a quarter as many putters."""
        parser.add_argument("--histories", type=int, default=4000)

    def handle(self, *args: Any, histories: int, **options: Any) -> None:
        """Print the four tables."""
        if histories < 1:
            raise CommandError("Draw one history at least.")
        self.cover()
        self.alarm(histories)
        self.fade(histories)
        self.putt(max(1, histories // 4))

    def cover(self) -> None:
        """How often each interval holds the truth, over every count that there is."""
        self.stdout.write(f"{'95% interval':<30}{'mean':>7}{'mark':>8}{'worst':>8}{'mark':>8}  worst at")
        two = list(combinations_with_replacement(SOME, 2))
        small = list(combinations_with_replacement(SMALL, 2))
        self.line("a share", share_cells(SIZES), WORST_SHARE)
        self.line("a share, every rate", beside_limits(SIZES), WORST_SHARE, searched=True)
        self.line("a difference", difference_cells(two), WORST_DIFFERENCE)
        self.line("a difference, fiftieths", difference_cells(small, FINE), WORST_DIFFERENCE, searched=True)
        self.line("a paired one", pairs_cells(SOME, CORRELATIONS), WORST_DIFFERENCE)
        self.line("a paired one, fiftieths", pairs_cells(SMALL, CORRELATIONS, FINE), WORST_DIFFERENCE, searched=True)
        self.stdout.write("In twentieths the marks are kept; between them the method itself misses by half a point.")

    def line(self, name: str, cells: Iterable[Cell], mark: str, searched: bool = False) -> None:
        """One interval; a search for the worst has no average worth telling."""
        mean, worst = coverage(cells)
        told = f"{'':>15}" if searched else f"{mean:>7.1%}{MEAN:>8}"
        self.stdout.write(f"{name:<30}{told}{worst.coverage:>8.1%}{mark:>8}  {worst.where}")

    def alarm(self, histories: int) -> None:
        """How often a student who does not change is called, at worst, and the same drawn through the whole page."""
        self.stdout.write(f"\n{'false alarms':<30}{'counted':>9}{'mark':>9}{'drawn':>9}  worst at")
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

    def putt(self, putters: int) -> None:
        """How often the 95 % intervals of a putter hold the truth, and what noting the short ones does to pace."""
        self.stdout.write(f"\n{f'putters, mark {PUTTER}':<30}" + "".join(f"{name:>12}" for name in NAMES))
        for seed, (name, test) in enumerate(TESTS.items()):
            found = held(test, putters, seed)
            shares = (f"{'untold':>12}" if share is None else f"{share:>12.1%}" for share in found.shares)
            self.stdout.write(f"{name:<30}{''.join(shares)}")
        self.stdout.write(f"One standard error of 95 % is {found.error:.1%}. Untold: the test is silent on it.")
        for number in (120, 240):
            pace = pace_width_ratio(max(1, putters // 10), number, seed=number)
            told = f"{pace.log:.0%} on a log scale, {pace.plain:.0%} as it is"
            self.stdout.write(f"pace interval of {number} putts with short ones noted, of that of makes alone: {told}")
