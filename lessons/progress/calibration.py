"""Calibration: the coverage of the intervals, and the false alarms and power of the trend.

All are computed for students whose probabilities are known: exactly by enumeration, or simulated with a seed.
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
from lessons.progress.judgement import trend_since, weigh
from lessons.progress.points import Degree, LookPoint
from lessons.progress.sequential import LEVEL
from lessons.progress.trend import Kendall, Split, tail_probability

RATES = tuple(step / 20 for step in range(1, 20))
OPENED = date(2026, 1, 5)  # any day


class Row(NamedTuple):
    """One line of the table of scenarios: what happens, how often a page says so, and the mark for it, if any."""

    name: str
    value: float
    mark: str = ""


class Cell(NamedTuple):
    """The coverage of an interval in one situation."""

    coverage: float
    where: str


class Coverage(NamedTuple):
    """The average coverage over some situations, and the worst of them."""

    mean: float
    worst: Cell


def coverage(cells: Iterable[Cell]) -> Coverage:
    """The average and the worst. Raises ValueError for no cells."""
    found = list(cells)
    if not found:
        raise ValueError("nothing was tried")
    return Coverage(sum(cell.coverage for cell in found) / len(found), min(found))


def binomial_probabilities(of: int, rate: float) -> list[float]:
    """The probability of each count, from none to all."""
    return [comb(of, seen) * rate**seen * (1 - rate) ** (of - seen) for seen in range(of + 1)]


def holds(interval: Interval, truth: float) -> bool:
    """Whether the truth lies within."""
    return interval.low <= truth <= interval.high


# --- One share ----------------------------------------------------------------------------------


@cache
def shares(of: int) -> list[Interval]:
    """The interval of every count."""
    return [wilson(Share(seen, of)) for seen in range(of + 1)]


def share_coverage(of: int, rate: float) -> float:
    """The coverage of the interval of one share, over all counts."""
    probabilities = zip(binomial_probabilities(of, rate), shares(of), strict=True)
    return sum(probability for probability, interval in probabilities if holds(interval, rate))


def share_cells(sizes: Iterable[int], rates: Sequence[float] = RATES) -> Iterator[Cell]:
    """Every size with every rate."""
    for of, rate in product(sizes, rates):
        yield Cell(share_coverage(of, rate), f"n = {of}, rate {rate:.3f}")


def beside_limits(sizes: Iterable[int], low: float = RATES[0], high: float = RATES[-1]) -> Iterator[Cell]:
    """The cells among which the worst of all rates must be: beside a limit of some count's interval.

    Between two limits the counts whose interval holds a rate stay the same, and their probability has one peak at
    most, so that it is least at an end.
    """
    for of in sizes:
        limits = [limit for interval in shares(of) for limit in interval if low < limit < high]
        yield from share_cells([of], [low, high, *(limit + side for limit in limits for side in (-1e-9, 1e-9))])


# --- Two shares of separate looks ---------------------------------------------------------------


@cache
def differences(one: int, other: int) -> list[list[Interval]]:
    """The interval of every count of the one less every count of the other."""
    return [[difference(Share(a, one), Share(b, other)) for b in range(other + 1)] for a in range(one + 1)]


def difference_coverage(one: int, other: int, first: float, second: float) -> float:
    """The coverage of the interval of a difference, over all counts of both."""
    truth, seconds = first - second, binomial_probabilities(other, second)
    return sum(
        probability * sum(beside for beside, interval in zip(seconds, row, strict=True) if holds(interval, truth))
        for probability, row in zip(binomial_probabilities(one, first), differences(one, other), strict=True)
    )


def difference_cells(sizes: Iterable[tuple[int, int]], rates: Sequence[float] = RATES) -> Iterator[Cell]:
    """Every two sizes with every two rates."""
    for (one, other), first, second in product(sizes, rates, rates):
        where = f"n = {one} and {other}, rates {first:.2f} and {second:.2f}"
        yield Cell(difference_coverage(one, other, first, second), where)


# --- Two shares of the same lessons -------------------------------------------------------------


class PairProbabilities(NamedTuple):
    """The probability of each kind of pair."""

    both: float
    before: float
    after: float
    neither: float


def joint(first: float, second: float, correlation: float) -> PairProbabilities:
    """The probabilities of pairs with these rates before and after and this correlation.

    Raises ValueError where that is impossible.
    """
    both = first * second + correlation * sqrt(first * (1 - first) * second * (1 - second))
    probabilities = PairProbabilities(both, first - both, second - both, 1 - first - second + both)
    if min(probabilities) < 0:
        raise ValueError(f"rates of {first} and {second} cannot have a correlation of {correlation}")
    return probabilities


@cache
def tables(total: int) -> list[tuple[Pairs, int, Interval]]:
    """Every table of so many pairs, with its number of orders and its interval."""
    found = []
    for both in range(total + 1):
        for before in range(total - both + 1):
            for after in range(total - both - before + 1):
                pairs = Pairs(both, before, after, total - both - before - after)
                orders = comb(total, both) * comb(total - both, before) * comb(total - both - before, after)
                found.append((pairs, orders, paired_difference(pairs)))
    return found


def pairs_coverage(total: int, probabilities: PairProbabilities) -> float:
    """The coverage of the interval of a paired difference, over all tables."""
    truth = probabilities.before - probabilities.after
    both, before, after, neither = ([probability**count for count in range(total + 1)] for probability in probabilities)
    return sum(
        orders * both[pairs.both] * before[pairs.before] * after[pairs.after] * neither[pairs.neither]
        for pairs, orders, interval in tables(total)
        if holds(interval, truth)
    )


def pairs_cells(sizes: Iterable[int], correlations: Sequence[float], rates: Sequence[float] = RATES) -> Iterator[Cell]:
    """Every size with every two rates and every possible correlation."""
    for total, correlation, first, second in product(sizes, correlations, rates, rates):
        try:
            probabilities = joint(first, second, correlation)
        except ValueError:
            continue
        where = f"n = {total}, rates {first:.2f} and {second:.2f}, correlation {correlation:.1f}"
        yield Cell(pairs_coverage(total, probabilities), where)


# --- Trends -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class SimulatedStudent:
    """A student's probabilities, which change evenly from the first look to the last."""

    seen: tuple[float, float]
    clear: tuple[float, float]  # of what is seen
    is_graded: bool = True

    def looks(self, number: int, rng: Random) -> list[LookPoint]:
        """So many looks, one a week after the focus was opened."""
        seen, clear = even(self.seen, number), even(self.clear, number)
        return [
            LookPoint(OPENED + timedelta(weeks=week), True, self.degree(likely, bad, rng), "")
            for week, (likely, bad) in enumerate(zip(seen, clear, strict=True), 1)
        ]

    def degree(self, seen: float, clear: float, rng: Random) -> Degree | None:
        """What one look shows."""
        if rng.random() >= seen:
            return None
        if not self.is_graded:
            return "not_graded"
        return "clear" if rng.random() < clear else "slight"


def even(ends: tuple[float, float], number: int) -> list[float]:
    """So many values from one to another, in even steps; the first for one."""
    first, last = ends
    return [first + (last - first) * step / max(number - 1, 1) for step in range(number)]


def is_significant(points: Sequence[LookPoint]) -> bool:
    """Whether the page of a student with one fault would say that it changes."""
    [trend] = weigh([trend_since(points, OPENED)])
    return trend.is_significant


def share_significant(student: SimulatedStudent, number: int, histories: int, seed: int) -> float:
    """The share of simulated histories with a significant trend."""
    rng = Random(seed)
    return sum(is_significant(student.looks(number, rng)) for _ in range(histories)) / histories


def false_alarms(number: int, seen: float, clear: float) -> float:
    """The probability that the order of so many looks alone would be significant for a steady student.

    It is counted over all results of independent looks; a page, which allows for streaks, says so less often.
    """
    total = 0.0
    for found, probability in enumerate(binomial_probabilities(number, seen)):
        for bad, beside in enumerate(binomial_probabilities(found, clear)):
            total += probability * beside * significant_orders(((number - found, found), (found - bad, bad)), number)
    return total


@lru_cache(maxsize=8192)
def significant_orders(splits: tuple[Split, ...], number: int) -> float:
    """The share of all orders of some looks whose p-value is at most LEVEL."""
    most = sum(one * other for one, other in splits)
    significant = list(takewhile(lambda s: Kendall(s, splits, number).p <= LEVEL, range(most, 0, -2)))
    return tail_probability(splits, significant[-1]) if significant else 0.0
