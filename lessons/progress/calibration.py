"""How often the intervals hold the truth, and how often a trend is called: counted exactly, or drawn with a seed.

A judge that is never wrong says nothing; this is how often ours is, for students whose chances are known.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache, lru_cache
from itertools import product, takewhile
from math import comb, sqrt
from random import Random
from typing import NamedTuple

from lessons.progress.intervals import Interval, Pairs, Share, difference, paired_difference, wilson
from lessons.progress.judgement import FALSE, judge_all
from lessons.progress.points import Degree, LookPoint
from lessons.progress.states import Rules, Span
from lessons.progress.trend import Kendall, Split, tail

RATES = tuple(step / 20 for step in range(1, 20))
TAKEN = date(2026, 1, 5)  # any day


class Cell(NamedTuple):
    """How often an interval held the truth in one situation."""

    held: float
    where: str


class Coverage(NamedTuple):
    """How often an interval held the truth, on average over some situations, and in the worst of them."""

    mean: float
    worst: Cell


def coverage(cells: Iterable[Cell]) -> Coverage:
    """The average and the worst. Raises ValueError for none."""
    found = list(cells)
    if not found:
        raise ValueError("nothing was tried")
    return Coverage(sum(cell.held for cell in found) / len(found), min(found))


def binomial(of: int, rate: float) -> list[float]:
    """The chance of each count, from none to all."""
    return [comb(of, seen) * rate**seen * (1 - rate) ** (of - seen) for seen in range(of + 1)]


def holds(interval: Interval, truth: float) -> bool:
    """Whether the truth lies within."""
    return interval.low <= truth <= interval.high


# --- One share ----------------------------------------------------------------------------------


@cache
def shares(of: int) -> list[Interval]:
    """The interval of every count."""
    return [wilson(Share(seen, of)) for seen in range(of + 1)]


def share_held(of: int, rate: float) -> float:
    """How often the interval of one share holds its rate, over all counts."""
    chances = zip(binomial(of, rate), shares(of), strict=True)
    return sum(chance for chance, interval in chances if holds(interval, rate))


def share_cells(sizes: Iterable[int], rates: Sequence[float] = RATES) -> Iterator[Cell]:
    """Every size with every rate."""
    for of, rate in product(sizes, rates):
        yield Cell(share_held(of, rate), f"n = {of}, rate {rate:.3f}")


def beside_limits(sizes: Iterable[int], low: float = RATES[0], high: float = RATES[-1]) -> Iterator[Cell]:
    """Where the worst of all rates between two must lie: beside a limit of some count's interval.

    Between two limits the counts whose interval holds a rate stay the same, and their chance has one peak at most, so
    that it is least at an end.
    """
    for of in sizes:
        limits = [limit for interval in shares(of) for limit in interval if low < limit < high]
        yield from share_cells([of], [low, high, *(limit + side for limit in limits for side in (-1e-9, 1e-9))])


# --- Two shares of separate looks ---------------------------------------------------------------


@cache
def differences(one: int, other: int) -> list[list[Interval]]:
    """The interval of every count of the one less every count of the other."""
    return [[difference(Share(a, one), Share(b, other)) for b in range(other + 1)] for a in range(one + 1)]


def difference_held(one: int, other: int, first: float, second: float) -> float:
    """How often the interval of a difference holds that of the rates, over all counts of both."""
    truth, seconds = first - second, binomial(other, second)
    return sum(
        chance * sum(beside for beside, interval in zip(seconds, row, strict=True) if holds(interval, truth))
        for chance, row in zip(binomial(one, first), differences(one, other), strict=True)
    )


def difference_cells(sizes: Iterable[tuple[int, int]], rates: Sequence[float] = RATES) -> Iterator[Cell]:
    """Every two sizes with every two rates."""
    for (one, other), first, second in product(sizes, rates, rates):
        where = f"n = {one} and {other}, rates {first:.2f} and {second:.2f}"
        yield Cell(difference_held(one, other, first, second), where)


# --- Two shares of the same lessons -------------------------------------------------------------


class Chances(NamedTuple):
    """The chance of each kind of pair."""

    both: float
    before: float
    after: float
    neither: float


def joint(first: float, second: float, correlation: float) -> Chances:
    """The chances of pairs with these rates before and after that go together so far.

    Raises ValueError where no pairs can.
    """
    both = first * second + correlation * sqrt(first * (1 - first) * second * (1 - second))
    chances = Chances(both, first - both, second - both, 1 - first - second + both)
    if min(chances) < 0:
        raise ValueError(f"rates of {first} and {second} cannot go together by {correlation}")
    return chances


@cache
def tables(total: int) -> list[tuple[Pairs, int, Interval]]:
    """Every table of so many pairs, in how many orders it comes, and its interval."""
    found = []
    for both in range(total + 1):
        for before in range(total - both + 1):
            for after in range(total - both - before + 1):
                pairs = Pairs(both, before, after, total - both - before - after)
                orders = comb(total, both) * comb(total - both, before) * comb(total - both - before, after)
                found.append((pairs, orders, paired_difference(pairs)))
    return found


def pairs_held(total: int, chances: Chances) -> float:
    """How often the interval of a paired difference holds that of the rates, over all tables."""
    truth = chances.before - chances.after
    both, before, after, neither = ([chance**count for count in range(total + 1)] for chance in chances)
    return sum(
        orders * both[pairs.both] * before[pairs.before] * after[pairs.after] * neither[pairs.neither]
        for pairs, orders, interval in tables(total)
        if holds(interval, truth)
    )


def pairs_cells(sizes: Iterable[int], correlations: Sequence[float], rates: Sequence[float] = RATES) -> Iterator[Cell]:
    """Every size with every two rates and every correlation that they can have."""
    for total, correlation, first, second in product(sizes, correlations, rates, rates):
        try:
            chances = joint(first, second, correlation)
        except ValueError:
            continue
        where = f"n = {total}, rates {first:.2f} and {second:.2f}, correlation {correlation:.1f}"
        yield Cell(pairs_held(total, chances), where)


# --- Trends -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Course:
    """A student's chances, changing evenly from the first look to the last."""

    seen: tuple[float, float]
    marked: tuple[float, float]  # of what is seen
    says_degree: bool = True

    def looks(self, number: int, chance: Random) -> list[LookPoint]:
        """So many looks, one a week after the focus was taken on."""
        seen, marked = even(self.seen, number), even(self.marked, number)
        return [
            LookPoint(TAKEN + timedelta(weeks=week), True, self.degree(likely, bad, chance), "")
            for week, (likely, bad) in enumerate(zip(seen, marked, strict=True), 1)
        ]

    def degree(self, seen: float, marked: float, chance: Random) -> Degree | None:
        """What one look shows."""
        if chance.random() >= seen:
            return None
        if not self.says_degree:
            return "unsaid"
        return "marked" if chance.random() < marked else "slight"


def even(ends: tuple[float, float], number: int) -> list[float]:
    """So many values from one to another, in even steps; the first for one."""
    first, last = ends
    return [first + (last - first) * step / max(number - 1, 1) for step in range(number)]


def is_called(points: Sequence[LookPoint]) -> bool:
    """Whether the page of a student with one fault would say that it changes."""
    trend = judge_all([(points, [Span(TAKEN, None)])], Rules())[0].trend
    return trend is not None and trend.called


def share_called(course: Course, number: int, histories: int, seed: int) -> float:
    """How many of so many drawn histories are called."""
    chance = Random(seed)
    return sum(is_called(course.looks(number, chance)) for _ in range(histories)) / histories


def false_alarms(number: int, seen: float, marked: float) -> float:
    """How often the trend of a steady student is called, over all that so many looks may show, counted exactly."""
    total = 0.0
    for found, chance in enumerate(binomial(number, seen)):
        for bad, beside in enumerate(binomial(found, marked)):
            total += chance * beside * called_orders(((number - found, found), (found - bad, bad)), number)
    return total


@lru_cache(maxsize=8192)
def called_orders(splits: tuple[Split, ...], number: int) -> float:
    """Of all orders of some looks the share that is called."""
    most = sum(one * other for one, other in splits)
    called = list(takewhile(lambda s: Kendall(s, splits, number).p <= FALSE, range(most, 0, -2)))
    return tail(splits, called[-1]) if called else 0.0
