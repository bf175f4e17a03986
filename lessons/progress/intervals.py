"""Confidence intervals at 95 % for one share, for a difference of two, and limits of a control chart."""

from math import sqrt
from statistics import NormalDist
from typing import NamedTuple

Z95 = NormalDist().inv_cdf(0.975)


class Interval(NamedTuple):
    """The lower and the upper limit of a value."""

    low: float
    high: float


class Share(NamedTuple):
    """A count `seen` of `of`."""

    seen: int
    of: int

    @property
    def rate(self) -> float:
        """The share as a number from 0 to 1. Raises ZeroDivisionError for 0 of 0."""
        return self.seen / self.of


def wilson(share: Share, z: float = Z95) -> Interval:
    """The score interval of one share; from 0 to 1 for 0 of 0.

    Raises ValueError for fewer than 0 or more than all. Wilson (1927), J. Am. Stat. Assoc. 22, 209-212; method 3 of
    Newcombe (1998), Stat. Med. 17, 857-872.
    """
    seen, of = share
    if not 0 <= seen <= of:
        raise ValueError(f"{seen} of {of} is not a share")
    if of == 0:
        return Interval(0.0, 1.0)
    middle, spread = seen + z * z / 2, z * sqrt(seen * (of - seen) / of + z * z / 4)
    low = (middle - spread) / (of + z * z) if seen else 0.0
    high = (middle + spread) / (of + z * z) if seen < of else 1.0
    return Interval(low, high)


def difference(one: Share, other: Share) -> Interval:
    """The interval of one rate less another, of separate looks; from -1 to 1 where either is 0 of 0.

    Raises ValueError as `wilson` does. Method 10 of Newcombe (1998), Stat. Med. 17, 873-890.
    """
    return joined(one, other, 0.0)


class Pairs(NamedTuple):
    """Pairs of looks, counted by whether a fault was seen before, after, both or neither."""

    both: int
    before: int  # and not after
    after: int  # and not before
    neither: int

    @property
    def total(self) -> int:
        """All pairs."""
        return sum(self)

    @property
    def first(self) -> Share:
        """Seen before."""
        return Share(self.both + self.before, self.total)

    @property
    def second(self) -> Share:
        """Seen after."""
        return Share(self.both + self.after, self.total)

    @property
    def correlation(self) -> float:
        """The phi coefficient of the two looks, from -1 to 1, with a continuity correction where it is positive."""
        margins = (self.both + self.before) * (self.after + self.neither)
        margins *= (self.both + self.after) * (self.before + self.neither)
        if margins == 0:
            return 0.0
        agree = self.both * self.neither - self.before * self.after
        correction = min(max(agree, 0), self.total / 2)
        return (agree - correction) / sqrt(margins)


def paired_difference(pairs: Pairs) -> Interval:
    """The interval of the rate before less the rate after, in the same pairs; from -1 to 1 without pairs.

    Raises ValueError as `wilson` does. Method 10 of Newcombe (1998), Stat. Med. 17, 2635-2650.
    """
    return joined(pairs.first, pairs.second, pairs.correlation)


def joined(one: Share, other: Share, correlation: float) -> Interval:
    """The interval of one rate less another, from the Wilson limits of each."""
    low, high = wilson(one), wilson(other)
    if not one.of or not other.of:
        return Interval(-1.0, 1.0)
    least = spread(one.rate - low.low, high.high - other.rate, correlation)
    most = spread(low.high - one.rate, other.rate - high.low, correlation)
    between = one.rate - other.rate
    return Interval(max(-1.0, between - least), min(1.0, between + most))


def spread(one: float, other: float, correlation: float) -> float:
    """The length of the sum of two deviations with this correlation."""
    return sqrt(max(0.0, one * one - 2 * correlation * one * other + other * other))


class Limits(NamedTuple):
    """The limits of a control chart: by chance alone a share seldom lies outside them."""

    low: float
    high: float

    def hold(self, rate: float) -> bool:
        """Whether a rate is within them."""
        return self.low <= rate <= self.high


def control_limits(mean: float, of: int, sigmas: float = 3.0) -> Limits:
    """The limits of a proportions chart around a mean rate for a sample of so many, kept within 0 and 1.

    Raises ValueError for a mean outside 0 to 1 or a sample of none. NIST/SEMATECH e-Handbook, 6.3.3.2.
    """
    if not 0 <= mean <= 1 or of < 1:
        raise ValueError(f"no limits around {mean} for a sample of {of}")
    reach = sigmas * sqrt(mean * (1 - mean) / of)
    return Limits(max(0.0, mean - reach), min(1.0, mean + reach))
