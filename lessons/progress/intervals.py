"""How far a share that was counted on few looks may be off: intervals at 95 % for one share and for two."""

from math import sqrt
from statistics import NormalDist
from typing import NamedTuple

Z95 = NormalDist().inv_cdf(0.975)


class Interval(NamedTuple):
    """From where to where a value may reasonably lie."""

    low: float
    high: float


class Share(NamedTuple):
    """So many of so many."""

    seen: int
    of: int

    @property
    def rate(self) -> float:
        """The share as a number from 0 to 1. Raises ZeroDivisionError for none of none."""
        return self.seen / self.of


def wilson(share: Share, z: float = Z95) -> Interval:
    """The score interval of one share; from 0 to 1 where nothing was counted.

    Raises ValueError for fewer than none or more than all. Wilson (1927), J. Am. Stat. Assoc. 22, 209-212; method 3 of
    Newcombe (1998), Stat. Med. 17, 857-872.
    """
    seen, of = share
    if not 0 <= seen <= of:
        raise ValueError(f"{seen} of {of} is no share")
    if of == 0:
        return Interval(0.0, 1.0)
    middle, spread = seen + z * z / 2, z * sqrt(seen * (of - seen) / of + z * z / 4)
    low = (middle - spread) / (of + z * z) if seen else 0.0
    high = (middle + spread) / (of + z * z) if seen < of else 1.0
    return Interval(low, high)


def difference(one: Share, other: Share) -> Interval:
    """The interval of one rate less another, of separate looks; from -1 to 1 where either is none of none.

    Raises ValueError as `wilson` does. Method 10 of Newcombe (1998), Stat. Med. 17, 873-890.
    """
    return joined(one, other, 0.0)


class Pairs(NamedTuple):
    """Pairs of looks, before and after, by where a thing was seen."""

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
        """How far the two looks go together, from -1 to 1, drawn towards none where they agree."""
        margins = (self.both + self.before) * (self.after + self.neither)
        margins *= (self.both + self.after) * (self.before + self.neither)
        if margins == 0:
            return 0.0
        agree = self.both * self.neither - self.before * self.after
        if agree > 0:
            agree_less = max(agree - self.total / 2, 0.0)
            return agree_less / sqrt(margins)
        return agree / sqrt(margins)


def paired_difference(pairs: Pairs) -> Interval:
    """The interval of the rate before less the rate after, in the same pairs; from -1 to 1 without any.

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
    """The length of the sum of two deviations that go together so far."""
    return sqrt(max(0.0, one * one - 2 * correlation * one * other + other * other))


class Limits(NamedTuple):
    """What chance alone would do around a mean: a share outside these is unusual."""

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
