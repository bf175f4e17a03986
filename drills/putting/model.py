"""The likelihood of scored tests under a putter's start line and pace, with its slopes.

The start line is off by a normal error in degrees with a bias (push positive). The ball would stop, on a green without
a hole, at a normal distance: the length aimed for, which is a little past the hole, times one plus a bias, with an
error in proportion to it. It drops if its start line lets it and it would not run too far past.
Gelman (2019), Model building and expansion for golf putting, Stan case study, after Broadie (2018).

`theta` has the shape (sets, 4): log of the start-line error in degrees, its bias in degrees, log of the pace error as
a share, its bias as a share.
"""

from collections.abc import Iterable, Sequence
from itertools import accumulate, pairwise
from math import inf

import numpy as np
from numpy.typing import NDArray

from drills.putting.hole import largest_error_deg
from drills.putting.normal import (
    LEAST,
    LINE,
    LINE_BIAS,
    PACE,
    PACE_BIAS,
    Array,
    Normal,
    Sloped,
    Union,
    between,
    log,
    over,
    times,
)
from drills.putting.observations import ALL, OVERSHOT_M, TOLERANCE_M, Putts, Record, Rows, Span, rows_of

__all__ = ["LINE", "LINE_BIAS", "PACE", "PACE_BIAS", "Array", "Evidence", "holed", "starts", "stops"]

# --- One putt -----------------------------------------------------------------------------------


def starts(theta: Array, low: Array, high: Array) -> Array:
    """The chance of a start line within spans of degrees: (sets, spans)."""
    bias, spread = theta[:, LINE_BIAS, None], np.exp(theta[:, LINE, None])
    return between((low - bias) / spread, (high - bias) / spread)


def stops(theta: Array, distance_m: Array, low: Array, high: Array) -> Array:
    """The chance to stop within spans of metres seen from a hole that takes no ball: (sets, spans)."""
    bias, spread = theta[:, PACE_BIAS, None], np.exp(theta[:, PACE, None])
    return between((share(low, distance_m) - bias) / spread, (share(high, distance_m) - bias) / spread)


def share(stop_m: Array, distance_m: Array) -> Array:
    """How much longer than aimed for a putt is that stops there, as a share."""
    return (stop_m + distance_m) / (distance_m + OVERSHOT_M) - 1


def holed(theta: Array, distance_m: Array) -> Array:
    """The chance to hole putts from some distances: (sets, distances)."""
    room = np.array([largest_error_deg(distance) for distance in distance_m])
    hole = np.zeros_like(distance_m)
    return starts(theta, -room, room) * stops(theta, distance_m, hole, hole + TOLERANCE_M)


# --- A test -------------------------------------------------------------------------------------

BEFORE, REACH, BEYOND = (-inf, 0.0), (0.0, TOLERANCE_M), (TOLERANCE_M, inf)  # short of a hole, within reach, past it


def column(rows: Iterable[object], name: str) -> Array:
    """A column of numbers."""
    return np.array([getattr(row, name) for row in rows], dtype=float)


def cut(one: Span, other: Span) -> Span:
    """What two spans have in common; it ends before it begins if that is nothing."""
    return max(one[0], other[0]), min(one[1], other[1])


def as_shares(distance_m: float, *spans: Span) -> Union:
    """Spans of stops as spans of how much longer than aimed for the putt was."""
    aim = distance_m + OVERSHOT_M
    return [((low + distance_m) / aim - 1, (high + distance_m) / aim - 1) for low, high in spans]


def near_miss(row: Putts) -> bool:
    """Whether some of the balls may have come within reach of a hole and did not drop."""
    low, high = cut(row.stops, REACH)
    return row.dropped is False and low < high


class Alone:
    """What the start line tells alone, and pace alone: a gate, most leaves, and both of balls that dropped."""

    def __init__(self, rows: Rows) -> None:
        holed = [row for row in rows.putts if row.dropped]
        left = [row for row in rows.putts if not (row.dropped or near_miss(row))]
        rooms = [largest_error_deg(row.distance_m) for row in holed]
        self.lines: list[Union] = [*([(-room, room)] for room in rooms), *(row.within for row in rows.starts)]
        self.paces = [as_shares(row.distance_m, REACH if row.dropped else row.stops) for row in (*holed, *left)]
        self.numbers = column([*holed, *rows.starts, *holed, *left], "number")

    def chances(self, line: Sloped, pace: Sloped) -> Sloped:
        """The chance of each row."""
        return np.concatenate([line, pace], axis=1)

    def over_grid(self, line: Sloped, pace: Sloped) -> Array:
        """The log of the chance of all rows for every start line with every pace."""
        by_line, by_pace = np.split(self.numbers, [len(self.lines)])
        return logs(line, by_line) + logs(pace, by_pace)


class Together:
    """Balls that did not drop and may have come within reach of the hole: if they did, the start line was off."""

    def __init__(self, rows: Rows) -> None:
        missed = [row for row in rows.putts if near_miss(row)]
        rooms = [largest_error_deg(row.distance_m) for row in missed]
        self.lines: list[Union] = [[(-inf, -room), (room, inf)] for room in rooms]
        outside = [as_shares(row.distance_m, cut(row.stops, BEFORE), cut(row.stops, BEYOND)) for row in missed]
        self.paces = [*outside, *(as_shares(row.distance_m, cut(row.stops, REACH)) for row in missed)]
        self.numbers = column(missed, "number")

    def chances(self, line: Sloped, pace: Sloped) -> Sloped:
        """The chance of each row."""
        parts = in_parts(pace, 2)
        return parts[:, 0] + times(parts[:, 1], line)

    def over_grid(self, line: Sloped, pace: Sloped) -> Array:
        """The log of the chance of all rows for every start line with every pace."""
        return logs(self.chances(line, pace), self.numbers)


class Sided:
    """Misses to either side: of short ones the start line alone decides, of others also whether it let them drop."""

    def __init__(self, rows: Rows) -> None:
        sides = rows.sides
        rooms = [largest_error_deg(row.distance_m) for row in sides]
        push: list[Union] = [[(0.0, inf)]] * len(sides)
        pull: list[Union] = [[(-inf, 0.0)]] * len(sides)
        self.lines = [*push, *pull, *([(room, inf)] for room in rooms), *([(-inf, -room)] for room in rooms)]
        self.paces = [as_shares(row.distance_m, span) for span in (BEFORE, REACH, BEYOND) for row in sides]
        self.numbers = np.concatenate([column(sides, "push"), column(sides, "pull")])
        self.short = np.array([np.nan if row.short is None else row.short / row.missed for row in sides])

    def chances(self, line: Sloped, pace: Sloped) -> Sloped:
        """The chance that a miss goes to the push side, of each row, and then to the pull side."""
        both = sides_of_misses(in_parts(line, 4), in_parts(pace, 3), self.short)
        return both.reshape(len(both), len(self.numbers), -1)

    def over_grid(self, line: Sloped, pace: Sloped) -> Array:
        """The log of the chance of all sides for every start line with every pace; row by row, which spares memory."""
        lines, paces, numbers = in_parts(line, 4), in_parts(pace, 3), self.numbers.reshape(2, -1)
        total = np.zeros((line.shape[2], pace.shape[3]))
        for row in range(len(self.short)):
            one = slice(row, row + 1)
            push, pull = sides_of_misses(lines[:, :, one], paces[:, :, one], self.short[one])[0]
            total += logs(push[None], numbers[0, one]) + logs(pull[None], numbers[1, one])
        return total


def sides_of_misses(line: Sloped, pace: Sloped, counted: Array) -> Sloped:
    """The chances that a miss goes to the push side, and to the pull side: (slopes, 2, rows, ...).

    `counted` is the share of the misses that were short; where it is none, as many were as expected.
    """
    side, wide = line[:, :2], line[:, 2:]
    short, within = pace[:, :1], pace[:, 1:2]
    gone_by = within + pace[:, 2:]
    shares = over(pace[:, 1:], gone_by)
    reached, beyond = shares[:, :1], shares[:, 1:]
    missed = beyond + times(reached, wide[:, :1] + wide[:, 1:])  # of balls that were not short
    was_short = np.zeros_like(short)
    was_short[0] = counted.reshape(-1, *[1] * (short.ndim - 3))
    if np.isnan(counted).any():
        was_short = np.where(np.isnan(was_short[:1]), over(short, short + times(gone_by, missed)), was_short)
    by_side = over(times(beyond, side) + times(reached, wide), missed)
    return by_side + times(was_short, side - by_side)


def in_parts(sloped: Sloped, number: int) -> Sloped:
    """Its columns in so many equal parts: (slopes, parts, rows, ...)."""
    return sloped.reshape(len(sloped), number, -1, *sloped.shape[2:])


def logs(chances: Sloped, numbers: Array) -> Array:
    """The log of the chance of rows that came so often, without slopes."""
    total: Array = np.tensordot(numbers, np.log(np.maximum(chances[0], LEAST)), 1)
    return total


class Evidence:
    """All that some records say. Raises ValueError for no balls."""

    def __init__(self, records: Iterable[Record]) -> None:
        self.rows = rows = rows_of(records)
        if not (rows.putts or rows.starts):
            raise ValueError("no balls, nothing to say of a putter")
        parts = [part for part in (Alone(rows), Together(rows), Sided(rows)) if len(part.numbers)]
        self.numbers = np.concatenate([part.numbers for part in parts])
        self.line = Normal(LINE, [union for part in parts for union in part.lines])
        self.pace = Normal(PACE, [union for part in parts for union in part.paces])
        places = slices(part.lines for part in parts), slices(part.paces for part in parts)
        self.parts = list(zip(parts, *places, strict=True))

    @property
    def free(self) -> NDArray[np.bool_]:
        """Which of the four parameters the records can tell anything of."""
        rows = self.rows
        drops = any(row.dropped is not None for row in rows.putts)
        one_sided = any(low > 0 or high < 0 for row in rows.starts if len(row.within) == 1 for low, high in row.within)
        measured = any(row.stops != ALL for row in rows.putts)
        return np.array([drops or bool(rows.starts), one_sided or bool(rows.sides), bool(rows.putts), measured])

    def chances(self, theta: Array) -> Sloped:
        """The chance of each row, with its slopes: (5, rows, sets)."""
        line, pace = self.line.chance(theta), self.pace.chance(theta)
        each = [part.chances(line[:, its_line], pace[:, its_pace]) for part, its_line, its_pace in self.parts]
        return np.concatenate(each, axis=1)

    def log_likelihood(self, theta: Array) -> Sloped:
        """The log of the chance of it all, up to a constant, with its slopes: (5, sets)."""
        return self.numbers @ log(self.chances(theta))

    def over_grid(self, lines: Array, paces: Array) -> Array:
        """The log of the chance of it all for every start line with every pace: (lines, paces)."""
        line, pace = self.line.alone(lines)[..., :, None], self.pace.alone(paces)[..., None, :]
        total = np.zeros((len(lines), len(paces)))
        for part, its_line, its_pace in self.parts:
            total += part.over_grid(line[:, its_line], pace[:, its_pace])
        return total


def slices(lists: Iterable[Sequence[object]]) -> list[slice]:
    """Where each of some lists lies when they are put behind one another."""
    ends = list(accumulate((len(each) for each in lists), initial=0))
    return [slice(*pair) for pair in pairwise(ends)]
