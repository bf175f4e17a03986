"""A share as a dot on a line from none to all, with the range in which the true one probably lies. Pure."""

from dataclasses import dataclass

from coachbook.caseload.findings.clusters import wide
from lessons.progress.intervals import Interval, Limits, Share

WIDTH = 320  # from none to all


@dataclass(frozen=True)
class Dot:
    """One line of a plot, in places from 0 to `WIDTH`; `mark` and `band` are empty where there is none."""

    name: str
    words: str
    at: float
    low: float
    high: float
    mark: str = ""
    band: str = ""


def dot_of(
    name: str,
    share: Share,
    effect: float = 1.0,
    expected: float | None = None,
    limits: Interval | Limits | None = None,
) -> Dot:
    """The dot of a share with a design effect; `expected` is a number of the same looks, marked beside it.

    Raises ZeroDivisionError for none of none.
    """
    low, high = wide(share, effect)
    return Dot(
        name=name,
        words=f"{share.seen} of {share.of}",
        at=place(share.rate),
        low=place(low),
        high=place(high),
        mark="" if expected is None else f"M{place(expected / share.of):g} 0V14",
        band=f"M{place(limits.low):g} 3H{place(limits.high):g}V11H{place(limits.low):g}z" if limits else "",
    )


def place(rate: float) -> float:
    """Where a rate lies, between the ends."""
    return round(WIDTH * min(1.0, max(0.0, rate)), 1)
