"""The likelihood of scored tests under a putter's start line and pace, with its gradient.

The start line is off by a normal error in degrees with a bias (push positive). The ball would stop, on a green without
a hole, at a normal distance: the length aimed for, which is a little past the hole, multiply one plus a bias, with an
error in proportion to it. It drops if its start line lets it and it would not run too far past.
Gelman (2019), Model building and expansion for golf putting, Stan case study, after Broadie (2018).

`theta` has the shape (sets, 4): log of the start-line error in degrees, its bias in degrees, log of the pace error as
a relative_excess, its bias as a relative_excess.
"""

from collections.abc import Iterable, Sequence
from copy import copy
from itertools import accumulate, pairwise
from math import inf
from typing import Self

import numpy as np
from numpy.typing import NDArray

from drills.putting.hole import largest_error_deg
from drills.putting.normal import (
    LINE,
    LINE_BIAS,
    NORMAL,
    PACE,
    PACE_BIAS,
    TINY,
    Array,
    Dual,
    Normal,
    Spans,
    Tails,
    between,
    divide,
    log,
    multiply,
)
from drills.putting.observations import (
    ANYWHERE,
    OVERSHOT_M,
    TOLERANCE_M,
    Observation,
    PuttRow,
    Rows,
    SideRow,
    Span,
    rows_from,
)

__all__ = ["LINE", "LINE_BIAS", "PACE", "PACE_BIAS", "Array", "Likelihood", "holed", "starts", "stops"]

# --- One putt -----------------------------------------------------------------------------------


def starts(theta: Array, low: Array, high: Array) -> Array:
    """The probability of a start line within spans of degrees: (sets, spans)."""
    bias, spread = theta[:, LINE_BIAS, None], np.exp(theta[:, LINE, None])
    return between((low - bias) / spread, (high - bias) / spread)


def stops(
    theta: Array,
    distance_m: Array,
    low: Array,
    high: Array,
    intended_m: Array | None = None,
    tails: Tails = NORMAL,
) -> Array:
    """The probability to stop within spans of metres past the hole's place, if no ball could drop: (sets, spans).

    `intended_m` is how long the putts are meant to be: a foot past the hole unless it is given.
    """
    intended = distance_m + OVERSHOT_M if intended_m is None else intended_m
    bias, spread = theta[:, PACE_BIAS, None], np.exp(theta[:, PACE, None])
    shortest, longest = ((stop_m + distance_m) / intended - 1 for stop_m in (low, high))
    return between((shortest - bias) / spread, (longest - bias) / spread, tails)


def holed(theta: Array, distance_m: Array, intended_m: Array | None = None, tails: Tails = NORMAL) -> Array:
    """The probability to hole putts from some distances: (sets, distances)."""
    limit = np.array([largest_error_deg(distance) for distance in distance_m])
    hole = np.zeros_like(distance_m)
    return starts(theta, -limit, limit) * stops(theta, distance_m, hole, hole + TOLERANCE_M, intended_m, tails)


# --- A test -------------------------------------------------------------------------------------

BEFORE, REACH, BEYOND = (-inf, 0.0), (0.0, TOLERANCE_M), (TOLERANCE_M, inf)  # short of a hole, within reach, past it


def column(rows: Iterable[object], name: str) -> Array:
    """One field of all rows, as numbers."""
    return np.array([getattr(row, name) for row in rows], dtype=float)


def intersection(one: Span, other: Span) -> Span:
    """The part that two spans have in common; it ends before it begins if there is none."""
    return max(one[0], other[0]), min(one[1], other[1])


def as_shares(row: PuttRow | SideRow, *spans: Span) -> Spans:
    """Spans of stops in metres as spans of the relative excess over the length aimed for."""
    distance, intended = row.distance_m, row.intended_m
    return [((low + distance) / intended - 1, (high + distance) / intended - 1) for low, high in spans]


def is_near_miss(row: PuttRow) -> bool:
    """Whether some of the balls may have had the pace to drop and did not."""
    low, high = intersection(row.stops, REACH)
    return row.dropped is False and low < high


class IndependentTerms:
    """Terms that depend on the start line alone or on pace alone: gates, most leaves, and balls that dropped."""

    def __init__(self, rows: Rows) -> None:
        holed = [row for row in rows.putts if row.dropped]
        left = [row for row in rows.putts if not (row.dropped or is_near_miss(row))]
        limits = [largest_error_deg(row.distance_m) for row in holed]
        self.lines: list[Spans] = [*([(-limit, limit)] for limit in limits), *(row.spans for row in rows.starts)]
        self.paces = [as_shares(row, REACH if row.dropped else row.stops) for row in (*holed, *left)]
        self.numbers = column([*holed, *rows.starts, *holed, *left], "number")

    def probabilities(self, line: Dual, pace: Dual) -> Dual:
        """The probability of each row."""
        return np.concatenate([line, pace], axis=1)

    def grid_log_likelihood(self, line: Dual, pace: Dual) -> Array:
        """The log-likelihood of all rows for every start line with every pace."""
        by_line, by_pace = np.split(self.numbers, [len(self.lines)])
        return weighted_log(line, by_line) + weighted_log(pace, by_pace)


class NearMissTerms:
    """Terms of balls that did not drop and may have had the pace to: if they had, the start line was off."""

    def __init__(self, rows: Rows) -> None:
        missed = [row for row in rows.putts if is_near_miss(row)]
        limits = [largest_error_deg(row.distance_m) for row in missed]
        self.lines: list[Spans] = [[(-inf, -limit), (limit, inf)] for limit in limits]
        outside = [as_shares(row, intersection(row.stops, BEFORE), intersection(row.stops, BEYOND)) for row in missed]
        self.paces = [*outside, *(as_shares(row, intersection(row.stops, REACH)) for row in missed)]
        self.numbers = column(missed, "number")

    def probabilities(self, line: Dual, pace: Dual) -> Dual:
        """The probability of each row."""
        parts = split_columns(pace, 2)
        return parts[:, 0] + multiply(parts[:, 1], line)

    def grid_log_likelihood(self, line: Dual, pace: Dual) -> Array:
        """The log-likelihood of all rows for every start line with every pace."""
        return weighted_log(self.probabilities(line, pace), self.numbers)


class MissSideTerms:
    """Terms of the sides of misses: the start line decides, and for balls not short also whether they dropped.

    One term for each side to which a test's misses went.
    """

    def __init__(self, rows: Rows) -> None:
        sides = [(row, 1) for row in rows.sides if row.push] + [(row, -1) for row in rows.sides if row.pull]
        limits = [largest_error_deg(row.distance_m) for row, _ in sides]
        side = [beyond_limit(0.0, sign) for _, sign in sides]
        wide = [beyond_limit(limit, sign) for limit, (_, sign) in zip(limits, sides, strict=True)]
        self.lines: list[Spans] = [*side, *wide, *([(-inf, -limit), (limit, inf)] for limit in limits)]
        self.paces = [as_shares(row, span) for span in (BEFORE, REACH, BEYOND) for row, _ in sides]
        self.numbers = np.array([row.push if sign > 0 else row.pull for row, sign in sides], dtype=float)
        self.short = np.array([np.nan if row.short is None else row.short / row.missed for row, _ in sides])

    def probabilities(self, line: Dual, pace: Dual) -> Dual:
        """The probability that a miss of each row goes to the side of each term."""
        return miss_side_chances(split_columns(line, 3), split_columns(pace, 3), self.short)

    def grid_log_likelihood(self, line: Dual, pace: Dual) -> Array:
        """The log-likelihood of all sides for every start line with every pace; one by one, to need less memory."""
        lines, paces = split_columns(line, 3), split_columns(pace, 3)
        total = np.zeros((line.shape[2], pace.shape[3]))
        for at in range(len(self.numbers)):
            one = slice(at, at + 1)
            chances = miss_side_chances(lines[:, :, one], paces[:, :, one], self.short[one])
            total += weighted_log(chances, self.numbers[one])
        return total


def beyond_limit(limit: float, sign: int) -> Spans:
    """The start lines that are off by more than a limit to one side: push where the sign is 1."""
    return [(limit, inf)] if sign > 0 else [(-inf, -limit)]


def miss_side_chances(line: Dual, pace: Dual, counted: Array) -> Dual:
    """The probability that a miss goes to one side: (value and gradient, terms, ...).

    `line` has the side, so far to that side that no ball drops, and the same to either side; `pace` has short, within
    reach and beyond. `counted` is the share of the misses that were short; where it is NaN, the expected one is taken.
    """
    side, wide, off = (line[:, at] for at in range(3))
    short, within, past = (pace[:, at] for at in range(3))
    not_short = within + past
    reached, beyond = divide(within, not_short), divide(past, not_short)
    missed = beyond + multiply(reached, off)  # of balls that were not short
    was_short = np.zeros_like(short)
    was_short[0] = counted.reshape(len(counted), *[1] * (short.ndim - 2))
    if np.isnan(counted).any():
        was_short = np.where(np.isnan(was_short[:1]), divide(short, short + multiply(not_short, missed)), was_short)
    rest = -was_short
    rest[0] += 1
    by_side = divide(multiply(multiply(rest, beyond), side) + multiply(multiply(rest, reached), wide), missed)
    return multiply(was_short, side) + by_side


def split_columns(dual: Dual, number: int) -> Dual:
    """Its columns in so many equal parts: (value and gradient, parts, rows, ...)."""
    return dual.reshape(len(dual), number, -1, *dual.shape[2:])


def weighted_log(probabilities: Dual, numbers: Array) -> Array:
    """The log-likelihood of rows that came so often, without a gradient."""
    # Not a matrix product: the library's threads for those cost far more than so few rows.
    total: Array = np.einsum("r,r...->...", numbers, np.log(np.maximum(probabilities[0], TINY)))
    return total


class Likelihood:
    """The likelihood of some observations, with normal or heavier tails of pace. Raises ValueError for no balls."""

    def __init__(self, observations: Iterable[Observation]) -> None:
        self.rows = rows = rows_from(observations)
        if not (rows.putts or rows.starts):
            raise ValueError("no balls: a likelihood needs at least one")
        terms = [
            term for term in (IndependentTerms(rows), NearMissTerms(rows), MissSideTerms(rows)) if len(term.numbers)
        ]
        self.numbers = np.concatenate([term.numbers for term in terms])
        self.line = Normal(LINE, [spans for term in terms for spans in term.lines])
        self.pace = Normal(PACE, [spans for term in terms for spans in term.paces])
        places = consecutive_slices(term.lines for term in terms), consecutive_slices(term.paces for term in terms)
        self.terms = list(zip(terms, *places, strict=True))

    def with_tails(self, tails: Tails) -> Self:
        """The same with other tails of pace."""
        other, pace = copy(self), copy(self.pace)
        other.pace, pace.tails = pace, tails
        return other

    @property
    def identifiable(self) -> NDArray[np.bool_]:
        """Which of the four parameters the observations say anything about."""
        return identifiable(self.rows)

    def probabilities(self, theta: Array) -> Dual:
        """The probability of each row, with its gradient: (5, rows, sets)."""
        line, pace = self.line.with_gradient(theta), self.pace.with_gradient(theta)
        each = [term.probabilities(line[:, its_line], pace[:, its_pace]) for term, its_line, its_pace in self.terms]
        return np.concatenate(each, axis=1)

    def log_likelihood(self, theta: Array) -> Dual:
        """The log-likelihood up to a constant, with its gradient: (5, sets)."""
        return self.numbers @ log(self.probabilities(theta))

    def grid_log_likelihood(self, lines: Array, paces: Array) -> Array:
        """The log-likelihood for every start line with every pace: (lines, paces)."""
        line, pace = self.line.value(lines)[..., :, None], self.pace.value(paces)[..., None, :]
        total = np.zeros((len(lines), len(paces)))
        for term, its_line, its_pace in self.terms:
            total += term.grid_log_likelihood(line[:, its_line], pace[:, its_pace])
        return total


def identifiable(rows: Rows) -> NDArray[np.bool_]:
    """Which of the four parameters some rows say anything about."""
    has_drops = any(row.dropped is not None for row in rows.putts)
    is_one_sided = any(low > 0 or high < 0 for row in rows.starts if len(row.spans) == 1 for low, high in row.spans)
    is_measured = any(row.stops != ANYWHERE for row in rows.putts)
    return np.array([has_drops or bool(rows.starts), is_one_sided or bool(rows.sides), bool(rows.putts), is_measured])


def consecutive_slices(lists: Iterable[Sequence[object]]) -> list[slice]:
    """The slice of each of some lists when all are concatenated."""
    ends = list(accumulate((len(each) for each in lists), initial=0))
    return [slice(*pair) for pair in pairwise(ends)]
