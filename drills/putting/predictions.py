"""What a posterior comes to on a page: what is known, what it costs, the next challenge, and whether anything changed.

A share of the draws that agrees is not a proof; how many must agree is common practice, no source.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import exp, hypot, log
from statistics import NormalDist
from typing import Literal

import numpy as np

from drills.putting.baselines import GOLFER_90, make_rate
from drills.putting.challenge import FARTHEST_M, NEAREST_M, USUAL, gate_at_m, holing_distance_m
from drills.putting.chips import SEED, Rates
from drills.putting.model import LINE, LINE_BIAS, PACE, PACE_BIAS, Array, holed
from drills.putting.observations import Counted, Gated, Leaves, Record
from drills.putting.posterior import Estimate, Posterior
from drills.putting.putts import FIFTH, gain
from drills.putting.sample_size import balls_to_tell, spread_balls_to_tell
from lessons.progress.intervals import Share, wilson

FEWER = 0.8  # a fifth less
AGREED = 0.9  # of the draws
PLACED = 2.0  # a challenge is offered where the far end of its interval is at most so many times the near end
PUBLISHED_FROM_M, CERTAIN_M = 0.9144, 0.3048
Part = Literal["line", "pace"]


# --- What is known ------------------------------------------------------------------------------


@dataclass(frozen=True)
class Known:
    """The parameters that the records tell of, the others None; whether start line and pace come apart."""

    line: Estimate | None
    line_bias: Estimate | None
    pace: Estimate | None
    pace_bias: Estimate | None
    apart: bool
    described: bool

    @property
    def both(self) -> bool:
        """Whether there is something to say of putts holed, which take both."""
        return self.line is not None and self.pace is not None


def known(found: Posterior, *, apart: bool, described: bool) -> Known:
    """Every estimate that is free; those of a line and a pace that do not come apart are not told."""
    free = found.free
    return Known(
        line=found.line_deg if free[LINE] else None,
        line_bias=found.line_bias_deg if free[LINE_BIAS] else None,
        pace=found.pace if free[PACE] else None,
        pace_bias=found.pace_bias if free[PACE_BIAS] else None,
        apart=apart,
        described=described,
    )


def shares(records: Sequence[Record]) -> dict[float, Share]:
    """Putts holed of those tried, from each distance at which there was a hole, nearest first."""
    counts: dict[float, Share] = {}
    for record in records:
        if isinstance(record, Gated) or (isinstance(record, Leaves) and not record.hole):
            continue
        tried = record.tried if isinstance(record, Counted) else record.holed + len(record.leaves_m)
        before = counts.get(record.distance_m, Share(0, 0))
        counts[record.distance_m] = Share(before.seen + record.holed, before.of + tried)
    return dict(sorted(counts.items()))


def together(counts: Mapping[float, Share]) -> Share:
    """The putts of all distances."""
    return Share(sum(share.seen for share in counts.values()), sum(share.of for share in counts.values()))


# --- What it costs ------------------------------------------------------------------------------


def make_curve(draws: Array, distances_m: Sequence[float]) -> list[Estimate]:
    """The share holed from each distance, and where 95 % of it lies."""
    low, middle, high = np.quantile(holed(draws, np.array(distances_m)), [0.025, 0.5, 0.975], axis=0)
    return [Estimate(float(m), float(a), float(b)) for a, m, b in zip(low, middle, high, strict=True)]


@dataclass(frozen=True)
class Better:
    """What a fifth less of either error brings in ten putts, and which of the two brings more, if the draws agree."""

    line: float
    pace: float
    more: Part | None


@dataclass(frozen=True)
class Worth:
    """For putts that a player hopes to hole, and for three-putts from far away."""

    holed: Better
    saved: Better


def worth(draws: Array) -> Worth:
    """Which of start line and pace, improved by a fifth, is worth more to a student."""
    line, pace = gain(draws, LINE), gain(draws, PACE)
    return Worth(better(line.holed, pace.holed), better(line.saved, pace.saved))


def better(line: Array, pace: Array) -> Better:
    """The two gains side by side."""
    agreed = float((line > pace).mean())
    more: Part | None = "line" if agreed >= AGREED else "pace" if agreed <= 1 - AGREED else None
    return Better(float(np.median(line)), float(np.median(pace)), more)


# --- The next challenge -------------------------------------------------------------------------


@dataclass(frozen=True)
class Challenge:
    """From where, and through how wide a gate, a student succeeds so often; nothing where the tests do not say."""

    share: float
    distance_m: Estimate | None
    gate_m: float | None
    gate_distance_m: float

    @property
    def placed(self) -> bool:
        """Whether the distance is known well enough to be offered."""
        return self.distance_m is not None and self.distance_m.high <= PLACED * self.distance_m.low


def challenge(found: Posterior, told: Known, gate_distance_m: float, share: float = USUAL) -> Challenge:
    """The challenge that a student meets so often, and how surely it is known."""
    gate = gate_at_m(found.draws, gate_distance_m, share) if told.line and told.apart else None
    middle = holing_distance_m(found.draws, share) if told.both else None
    return Challenge(share, around(found.draws, middle, share) if middle else None, gate, gate_distance_m)


def around(draws: Array, middle: float, share: float) -> Estimate:
    """A distance with where 95 % of the draws would put it."""
    distances = np.geomspace(NEAREST_M, FARTHEST_M, 120)
    falling = np.minimum.accumulate(holed(draws, distances), axis=1)
    places = [float(np.interp(-share, -each, distances)) for each in falling]
    low, high = np.quantile(places, [0.025, 0.975])
    return Estimate(middle, min(float(low), middle), max(float(high), middle))


# --- Changes ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Change:
    """A figure now and before, and how far apart they are, which for a spread is a share of the one before."""

    now: Estimate
    before: Estimate
    apart: Estimate
    less_is_better: bool

    @property
    def verdict(self) -> Literal["better", "worse", ""]:
        """Better or worse where the interval leaves no change out; else nothing."""
        if self.apart.low <= 0 <= self.apart.high:
            return ""
        return "better" if (self.apart.high < 0) == self.less_is_better else "worse"


def moved(now: Estimate, before: Estimate) -> Estimate:
    """One value less another, with the interval that the two come to.

    Zou & Donner (2008), Stat. Med. 27, 1693-1702; for shares it is method 10 of Newcombe (1998), 17, 873-890.
    """
    between = now.middle - before.middle
    less = hypot(now.middle - now.low, before.high - before.middle)
    more = hypot(now.high - now.middle, before.middle - before.low)
    return Estimate(between, between - less, between + more)


def spread_change(now: Estimate, before: Estimate) -> Change:
    """The change of a spread or of a length, by its ratio. Raises ValueError for one of nothing or less."""
    logs = moved(*(Estimate(log(each.middle), log(each.low), log(each.high)) for each in (now, before)))
    ratio = Estimate(exp(logs.middle) - 1, exp(logs.low) - 1, exp(logs.high) - 1)
    return Change(now, before, ratio, less_is_better=True)


def share_change(now: Share, before: Share) -> Change:
    """The change of a share. Raises ZeroDivisionError for none of none."""
    one, other = (Estimate(each.rate, *wilson(each)) for each in (now, before))
    return Change(one, other, moved(one, other), less_is_better=False)


def least_ratio(balls: int) -> float | None:
    """The largest share of a spread that so many balls each time would tell from the whole; nothing if none would."""
    if balls < 2:
        return None
    ratios = (step / 100 for step in range(99, 0, -1))
    return next((ratio for ratio in ratios if spread_balls_to_tell(ratio) <= balls), None)


def putts_for_a_fifth(draws: Array, distances_m: Sequence[float]) -> int | None:
    """How many putts each time show a fifth less of both errors, by the share holed; nothing where none would."""
    improved = draws.copy()
    improved[:, [LINE, PACE]] += FIFTH
    one, other = (float(holed(each, np.array(distances_m)).mean()) for each in (draws, improved))
    return None if abs(one - other) < 1e-4 else balls_to_tell(one, other)


def gate_balls_for_a_fifth(passed: float) -> int | None:
    """How many balls each time show a fifth less start-line error at a gate that lets this share through."""
    if not 0 < passed < 1:
        return None
    normal = NormalDist()
    room = normal.inv_cdf((1 + passed) / 2)
    return balls_to_tell(passed, 2 * normal.cdf(room / FEWER) - 1)


# --- Chips --------------------------------------------------------------------------------------


def rates_of(draws: Array) -> Rates:
    """A student's own putts; a ball beside the hole is as good as one a hand away."""
    return lambda distances_m: holed(draws, np.maximum(distances_m, 0.05))


def published_rates(distances_m: Array) -> Array:
    """Those of golfers who score about 90; nearer than is printed they go straight to all. That is no source."""
    near = np.interp(distances_m, [CERTAIN_M, PUBLISHED_FROM_M], [1.0, GOLFER_90.percent_by_feet[3] / 100])
    rates: Array = np.where(distances_m < PUBLISHED_FROM_M, near, make_rate(GOLFER_90, distances_m))[None]
    return rates


def nearer_or_surer(leaves_m: Sequence[float], putts: Rates) -> Literal["chip", "putt"] | None:
    """Whether chips a fifth nearer save more than a fifth of the missed putts holed, where balls drawn again agree."""
    leaves = np.array(leaves_m)
    rates = putts(leaves)
    ahead = putts(FEWER * leaves) - rates - 0.2 * (1 - rates)  # (putters, balls)
    rng = np.random.default_rng(SEED)
    drawn = rng.integers(len(leaves), size=(400, len(leaves)))
    agreed = float((ahead[np.arange(400)[:, None] % len(ahead), drawn].mean(axis=1) > 0).mean())
    return "chip" if agreed >= AGREED else "putt" if agreed <= 1 - AGREED else None
