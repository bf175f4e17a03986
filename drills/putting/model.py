"""The likelihood of scored tests under a putter's start line and pace, with its slopes.

The start line is off by a normal error in degrees with a bias (push positive). The ball would stop, on a green without
a hole, at a normal distance: the length aimed for, which is a little past the hole, times one plus a bias, with an
error in proportion to it. It drops if its start line lets it and it would not run too far past.
Gelman (2019), Model building and expansion for golf putting, Stan case study, after Broadie (2018).

`theta` has the shape (sets, 4): log of the start-line error in degrees, its bias in degrees, log of the pace error as
a share, its bias as a share. A `Sloped` array has the value first and then its four slopes: (5, sets, rows).
"""

from collections.abc import Iterable, Sequence
from math import inf

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from drills.putting.hole import largest_error_deg
from drills.putting.record import ALL, NOWHERE, OVERSHOT_M, TOLERANCE_M, Putts, Record, Rows, Span, rows_of

Array = NDArray[np.float64]
Sloped = NDArray[np.float64]
LINE, LINE_BIAS, PACE, PACE_BIAS = range(4)
LEAST = 1e-300
ROOT = 1 / np.sqrt(2 * np.pi)


# --- Numbers with slopes ------------------------------------------------------------------------


def times(one: Sloped, other: Sloped) -> Sloped:
    """The product, of values alone where there are no slopes."""
    if len(one) == 1:
        return one * other
    product = one[:1] * other + one * other[:1]
    product[0] = one[0] * other[0]
    return product


def over(one: Sloped, other: Sloped) -> Sloped:
    """The quotient; over next to nothing it stays finite."""
    below = np.maximum(other[0], LEAST)
    share = one[0] / below
    if len(one) == 1:
        alone: Sloped = share[None]
        return alone
    quotient: Sloped = (one - share * other) / below
    quotient[0] = share
    return quotient


def log(one: Sloped) -> Sloped:
    """The logarithm; of nothing it is large and finite."""
    above = np.maximum(one[0], LEAST)
    logs: Sloped = one / above
    logs[0] = np.log(above)
    return logs


def rest(one: Sloped) -> Sloped:
    """One less it."""
    other = -one
    other[0] += 1
    return other


def mass(low: Array, high: Array, mean: Array, spread: Array, lever: Array | float, first: int) -> Sloped:
    """The chance of spans under normals; none where a span ends before it begins.

    The log of the spread is the parameter `first`; the one after it moves the mean by `lever`.
    """
    from_low, from_high = (low - mean) / spread, (np.maximum(low, high) - mean) / spread
    at_low, at_high = ROOT * np.exp(-0.5 * from_low**2), ROOT * np.exp(-0.5 * from_high**2)
    sloped = np.zeros((5, *from_low.shape))
    sloped[0] = ndtr(from_high) - ndtr(from_low)
    sloped[1 + first] = finite(from_low) * at_low - finite(from_high) * at_high
    sloped[2 + first] = (at_low - at_high) * lever / spread
    return sloped


def finite(z: Array) -> Array:
    """The places, with nothing for infinity, where a density is nothing as well."""
    return np.where(np.isfinite(z), z, 0.0)


# --- One putt -----------------------------------------------------------------------------------


def starts(theta: Array, low: Array, high: Array) -> Sloped:
    """The chance of a start line within spans of degrees."""
    return mass(low, high, theta[:, LINE_BIAS, None], np.exp(theta[:, LINE, None]), 1.0, LINE)


def stops(theta: Array, distance_m: Array, low: Array, high: Array) -> Sloped:
    """The chance to stop within spans of metres seen from a hole that takes no ball."""
    aim = distance_m + OVERSHOT_M
    mean = aim * (1 + theta[:, PACE_BIAS, None]) - distance_m
    return mass(low, high, mean, np.exp(theta[:, PACE, None]) * aim, aim, PACE)


def holed(theta: Array, distance_m: Array) -> Array:
    """The chance to hole putts from some distances, of the shape (sets, distances)."""
    room = np.array([largest_error_deg(distance) for distance in distance_m])
    hole = np.zeros_like(distance_m)
    line, pace = starts(theta, -room, room), stops(theta, distance_m, hole, hole + TOLERANCE_M)
    chance: Array = line[0] * pace[0]
    return chance


# --- A test -------------------------------------------------------------------------------------


def columns(rows: Iterable[object], *names: str) -> list[Array]:
    """A column of numbers for each name."""
    listed = list(rows)
    return [np.array([getattr(row, name) for row in listed], dtype=float) for name in names]


def ends(spans: Sequence[Span]) -> tuple[Array, Array]:
    """Where some spans begin, and where they end."""
    both = np.array(spans, dtype=float).reshape(-1, 2)
    return both[:, 0], both[:, 1]


def in_three(low: Array, high: Array) -> tuple[Array, Array]:
    """Each span cut into three: short of a hole, within reach of it, and beyond; one after the other."""
    hole, reach = np.zeros_like(low), np.full_like(low, TOLERANCE_M)
    lows = [low, np.maximum(low, hole), np.maximum(low, reach)]
    highs = [np.minimum(high, hole), np.minimum(high, reach), high]
    return np.concatenate(lows), np.concatenate(highs)


class Putted:
    """Putts by where they stopped, and by the start lines that let a ball do there what it did."""

    def __init__(self, rows: Rows) -> None:
        self.number, distance = columns(rows.putts, "number", "distance_m")
        self.distance = np.tile(distance, 3)
        self.places = in_three(*ends([row.stops for row in rows.putts]))
        self.missed = np.array([row.dropped is not True for row in rows.putts], dtype=bool)
        self.lines = [ends([lines_of(row)[place] for row in rows.putts]) for place in (0, 1)]
        # Missed balls that may have come within reach: of them line and pace tell together.
        within = (self.places[0] < self.places[1]).reshape(3, -1)[1] if rows.putts else self.missed
        self.joint = within & np.array([row.dropped is False for row in rows.putts], dtype=bool)

    def pace(self, theta: Array) -> tuple[Sloped, Sloped]:
        """The chance to stop outside the hole's reach, which no ball that dropped did, and within it."""
        short, within, past = np.split(stops(theta, self.distance, *self.places), 3, axis=2)
        return (short + past) * self.missed, within

    def line(self, theta: Array) -> Sloped:
        """The chance of a start line that lets the ball do within reach what it did."""
        return either(theta, self.lines)

    def chance(self, theta: Array) -> Sloped:
        """The chance of each row."""
        outside, within = self.pace(theta)
        return outside + times(within, self.line(theta))

    def over_grid(self, lines: Array, paces: Array) -> Array:
        """The log of the chance of all rows for every start line with every pace."""
        outside, within = (part[0] for part in self.pace(paces))
        line = self.line(lines)[0]
        apart, dropped = ~self.joint, ~self.missed
        total = logs(line[:, dropped], self.number[dropped])[:, None]
        total = total + logs((outside + within)[:, apart], self.number[apart])
        for row in np.flatnonzero(self.joint):
            total += self.number[row] * np.log(np.maximum(outside[:, row] + line[:, row, None] * within[:, row], LEAST))
        return total


def logs(chances: Array, numbers: Array) -> Array:
    """The log of the chance of rows that came so often."""
    total: Array = np.log(np.maximum(chances, LEAST)) @ numbers
    return total


def lines_of(row: Putts) -> tuple[Span, Span]:
    """The start lines under which a ball within reach of the hole did what it did: dropped, or not; any without one."""
    room = largest_error_deg(row.distance_m)
    if row.dropped is None:
        return ALL, NOWHERE
    return ((-room, room), NOWHERE) if row.dropped else ((-inf, -room), (room, inf))


def either(theta: Array, spans: Sequence[tuple[Array, Array]]) -> Sloped:
    """The chance of a start line within one of two spans, for each row."""
    (one_low, one_high), (other_low, other_high) = spans
    low, high = np.concatenate([one_low, other_low]), np.concatenate([one_high, other_high])
    one, other = np.split(starts(theta, low, high), 2, axis=2)
    chance: Sloped = one + other
    return chance


class Sided:
    """Misses to either side: of short ones the start line alone decides, of others also whether it let them drop."""

    def __init__(self, rows: Rows) -> None:
        self.push, self.pull, distance, missed = columns(rows.sides, "push", "pull", "distance_m", "missed")
        self.distance = np.tile(distance, 3)
        far, none = np.full_like(distance, inf), np.zeros_like(distance)
        self.places = in_three(-far, far)
        room = np.array([largest_error_deg(each) for each in distance])
        self.lines = np.concatenate([none, room, -far]), np.concatenate([far, far, -room])
        self.short = np.array([np.nan if row.short is None else row.short for row in rows.sides]) / missed

    def chance(self, theta: Array) -> Sloped:
        """The chance that a miss goes to the push side."""
        return self.joined(self.pace(theta), self.line(theta))

    def pace(self, theta: Array) -> list[Sloped]:
        """The chance to stop short, within reach and beyond."""
        return np.split(stops(theta, self.distance, *self.places), 3, axis=2)

    def line(self, theta: Array) -> list[Sloped]:
        """The chance to start to the push side, too far to it to drop, and too far to the other."""
        return np.split(starts(theta, *self.lines), 3, axis=2)

    def over_grid(self, lines: Array, paces: Array) -> Array:
        """The log of the chance of all sides for every start line with every pace."""
        pace, line = [part[:1, None] for part in self.pace(paces)], [part[:1, :, None] for part in self.line(lines)]
        push = self.joined(pace, line)[0]
        return logs(push, self.push) + logs(1 - push, self.pull)

    def joined(self, pace: list[Sloped], line: list[Sloped]) -> Sloped:
        """The chance that a miss goes to the push side, from both."""
        (short, within, past), (push, wide, other_wide) = pace, line
        pushed = times(past, push) + times(within, wide)
        gone_by = past + times(within, wide + other_wide)
        any_miss = over(times(short, push) + pushed, short + gone_by)
        told = push * self.short + over(pushed, gone_by) * (1 - self.short)
        return np.where(np.isnan(self.short), any_miss, told)


class Started:
    """Balls by their start line."""

    def __init__(self, rows: Rows) -> None:
        (self.number,) = columns(rows.starts, "number")
        self.lines = [ends([row.within[place] for row in rows.starts]) for place in (0, 1)]

    def chance(self, theta: Array) -> Sloped:
        """The chance of each row."""
        return either(theta, self.lines)


class Evidence:
    """All that some records say."""

    def __init__(self, records: Sequence[Record]) -> None:
        self.rows = rows_of(records)
        self.putted, self.sided, self.started = Putted(self.rows), Sided(self.rows), Started(self.rows)

    @property
    def free(self) -> NDArray[np.bool_]:
        """Which of the four parameters the records can tell anything of."""
        rows = self.rows
        drops = any(row.dropped is not None for row in rows.putts)
        one_sided = any(row.within[0][0] > 0 or row.within[0][1] < 0 for row in rows.starts if row.number)
        measured = any(row.stops != (-inf, inf) for row in rows.putts)
        return np.array([drops or bool(rows.starts), one_sided or bool(rows.sides), bool(rows.putts), measured])

    def log_likelihood(self, theta: Array) -> Sloped:
        """The log of the chance of it all, up to a constant, with its slopes: (5, sets)."""
        total = np.zeros((5, len(theta)))
        if self.rows.putts:
            total += log(self.putted.chance(theta)) @ self.putted.number
        if self.rows.starts:
            total += log(self.started.chance(theta)) @ self.started.number
        if self.rows.sides:
            push = self.sided.chance(theta)
            total += log(push) @ self.sided.push + log(rest(push)) @ self.sided.pull
        return total

    def over_grid(self, lines: Array, paces: Array) -> Array:
        """The log of the chance of it all for every start line with every pace: (lines, paces)."""
        total = np.zeros((len(lines), len(paces)))
        if self.rows.starts:
            total += (log(self.started.chance(lines))[0] @ self.started.number)[:, None]
        if self.rows.putts:
            total += self.putted.over_grid(lines, paces)
        if self.rows.sides:
            total += self.sided.over_grid(lines, paces)
        return total
