"""What follows from a posterior: the putter's estimate, marginal gains, the next challenge, and changes between tests.

How large a share of the draws must agree before something is said is common practice, no source.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate
from math import exp, hypot, log
from statistics import NormalDist
from typing import Literal

import numpy as np

from drills.putting.challenge import (
    LONGEST_PUTT_M,
    SHORTEST_PUTT_M,
    USUAL,
    gate_for_share,
    holing_distance_m,
)
from drills.putting.chips import RESAMPLES, SEED, Rates
from drills.putting.gates import gate_posterior
from drills.putting.model import LINE, LINE_BIAS, PACE, PACE_BIAS, Array, holed
from drills.putting.normal import HEAVY
from drills.putting.observations import Counted, Gated, Leaves, Observation
from drills.putting.posterior import Estimate, Posterior
from drills.putting.published import CLUB_PLAYERS, published_share
from drills.putting.putts import FIFTH_LESS, gains_far, gains_near
from drills.putting.read_and_aim import LineAtHole, LineComparison
from drills.putting.sample_size import balls_to_tell
from lessons.progress.intervals import Share, wilson
from lessons.progress.sentences import FEW

FOUR_FIFTHS = 0.8  # a fifth less
AGREED = 0.9  # of the draws
PLACED_RATIO = 2.0  # a distance is set as a target if the far end of its interval is at most so many times the near end
PUBLISHED_FROM_M, CERTAIN_M = 0.9144, 0.3048
LEAST_GAIN = 0.1  # of ten putts: less is not worth a word; common practice, no source
ErrorKind = Literal["line", "line_bias", "pace", "pace_bias"]
ERROR_KINDS: tuple[ErrorKind, ...] = ("line", "line_bias", "pace", "pace_bias")  # in the order of the parameters


# --- The putter ---------------------------------------------------------------------------------


@dataclass(frozen=True)
class PutterEstimate:
    """The four parameters, None if not identifiable or from too few balls, and the checks of the fit.

    Where there was a gate, `line` is that of the stroke, and `at_hole` is the line at a hole. `line_bias` is what putts
    at a hole suffer from: that of the stroke, or where read or aim shift it, of the line at the hole.
    """

    line: Estimate | None
    line_bias: Estimate | None
    pace: Estimate | None
    pace_bias: Estimate | None
    is_separable: bool  # start line and pace can be told apart
    fits_model: bool
    at_hole: LineAtHole | None = None
    has_wild_balls: bool = False  # a few balls ran much further or shorter than the rest: the spread is that of most

    @property
    def has_line_and_pace(self) -> bool:
        """Whether putts holed can be predicted, which takes both errors."""
        return self.line is not None and self.pace is not None


def putter_estimate(posterior: Posterior, *, is_separable: bool, fits_model: bool) -> PutterEstimate:
    """The estimate of every parameter that is identifiable."""
    identifiable = posterior.identifiable
    return PutterEstimate(
        line=posterior.line_deg if identifiable[LINE] else None,
        line_bias=posterior.line_bias_deg if identifiable[LINE_BIAS] else None,
        pace=posterior.pace if identifiable[PACE] else None,
        pace_bias=posterior.pace_bias if identifiable[PACE_BIAS] else None,
        is_separable=is_separable,
        fits_model=fits_model,
        has_wild_balls=posterior.tails is HEAVY,
    )


def beside_stroke(estimate: PutterEstimate, lines: LineComparison) -> PutterEstimate:
    """The same estimate with the start line of the stroke, and the line at the hole beside it."""
    bias = lines.at_hole.line_bias_deg if lines.is_shifted else lines.line_bias_deg
    return replace(estimate, line=lines.line_deg, line_bias=bias, at_hole=lines.line_at_hole)


def holed_by_distance(observations: Sequence[Observation]) -> dict[float, Share]:
    """Putts holed of those tried, for each distance in metres at which there was a hole, nearest first."""
    counts: dict[float, Share] = {}
    for observation in observations:
        if isinstance(observation, Gated) or (isinstance(observation, Leaves) and not observation.hole):
            continue
        tried = observation.tried if isinstance(observation, Counted) else observation.holed + len(observation.leaves_m)
        before = counts.get(observation.distance_m, Share(0, 0))
        counts[observation.distance_m] = Share(before.seen + observation.holed, before.of + tried)
    return dict(sorted(counts.items()))


def total_share(counts: Mapping[float, Share]) -> Share:
    """The putts of all distances together."""
    return Share(sum(share.seen for share in counts.values()), sum(share.of for share in counts.values()))


# --- Putts holed, and what a smaller error brings ------------------------------------------------


def make_curve(draws: Array, distances_m: Sequence[float]) -> list[Estimate]:
    """The share holed from each distance, with its 95 % interval."""
    return [summarise_draws(rates) for rates in holed(draws, np.array(distances_m)).T]


@dataclass(frozen=True)
class ErrorGain:
    """What less of one error brings in ten putts, and in how many of the draws it brings more than any other."""

    kind: ErrorKind
    brings: Estimate
    ahead: float


@dataclass(frozen=True)
class GainComparison:
    """What each of the four errors is worth, the greatest first; `reads` if the spread of the line is read or aim."""

    gains: tuple[ErrorGain, ...]
    reads: bool = False

    @property
    def candidates(self) -> tuple[ErrorKind, ...]:
        """The fewest errors of which one is worth most in `AGREED` of the draws, the likeliest first."""
        likeliest = sorted(self.gains, key=lambda each: each.ahead, reverse=True)
        sums = accumulate(each.ahead for each in likeliest)
        number = next((number for number, total in enumerate(sums, 1) if total >= AGREED), len(likeliest))
        return tuple(each.kind for each in likeliest[:number])

    @property
    def more(self) -> ErrorKind | None:
        """The error that leads; None unless the draws agree, or where it brings next to nothing."""
        [first, *others] = self.candidates
        brings = next(each.brings.middle for each in self.gains if each.kind == first)
        return None if others or brings < LEAST_GAIN else first


@dataclass(frozen=True)
class MarginalGain:
    """What less of each error brings: more short putts holed, and fewer three-putts from long range.

    A spread is made a fifth less, a bias is taken away.
    """

    holed: GainComparison
    saved: GainComparison


def marginal_gain(draws: Array, *, reads: bool = False) -> MarginalGain:
    """The gains of all four errors; those far from the hole by every second draw, since they take long."""
    near, far = gains_near(draws), gains_far(draws[::2])
    return MarginalGain(
        *(compare_gains(dict(zip(ERROR_KINDS, each, strict=True)), reads=reads) for each in (near, far))
    )


def compare_gains(gains: Mapping[ErrorKind, Array], *, reads: bool = False) -> GainComparison:
    """The medians and intervals of some gains, and how often each is the greatest."""
    first = np.argmax(np.stack(list(gains.values())), axis=0)
    found = [
        ErrorGain(kind, summarise_draws(draws), float((first == place).mean()))
        for place, (kind, draws) in enumerate(gains.items())
    ]
    return GainComparison(tuple(sorted(found, key=lambda each: each.brings.middle, reverse=True)), reads)


def summarise_draws(draws: Array) -> Estimate:
    """The median of some draws and their 95 % interval."""
    return Estimate(*np.quantile(draws, [0.5, 0.025, 0.975]).tolist())


# --- The next challenge -------------------------------------------------------------------------


@dataclass(frozen=True)
class Challenge:
    """The distance and the gate at which a student succeeds so often; None where the tests cannot say."""

    share: float
    distance_m: Estimate | None
    gate_m: float | None
    gate_distance_m: float

    @property
    def is_placed(self) -> bool:
        """Whether the distance is known well enough to be set as a target."""
        return self.distance_m is not None and self.distance_m.high <= PLACED_RATIO * self.distance_m.low


def find_challenge(
    posterior: Posterior, estimate: PutterEstimate, gates: Sequence[Gated], gate_distance_m: float, share: float = USUAL
) -> Challenge:
    """The challenge that a student meets so often: a distance by the model where it fits, a gate by gates alone."""
    predicts = estimate.has_line_and_pace and estimate.fits_model
    middle = holing_distance_m(middle_putter(posterior), share) if predicts else None
    distance = distance_estimate(posterior.draws, middle, share) if middle else None
    return Challenge(share, distance, gate_challenge_m(gates, gate_distance_m, share), gate_distance_m)


def middle_putter(posterior: Posterior) -> Array:
    """The putter of the four medians: (1, 4). Over all draws a share is lower, and a target by it would be too easy."""
    line, pace = log(posterior.line_deg.middle), log(posterior.pace.middle)
    return np.array([[line, posterior.line_bias_deg.middle, pace, posterior.pace_bias.middle]])


def gate_challenge_m(gates: Sequence[Gated], distance_m: float, share: float) -> float | None:
    """The width of the gate for a share, by what was counted at gates; None for fewer than `FEW` balls there.

    Where the balls clearly start to one side, the error that a gate lets through is not in proportion to their spread,
    and the posterior of both sets the width.
    """
    if sum(gate.balls for gate in gates) < FEW:
        return None
    stroke = gate_posterior(gates)
    return stroke.gate_m(distance_m, share) if stroke.line_bias_deg.sign else gate_for_share(gates, distance_m, share)


def distance_estimate(draws: Array, middle: float, share: float) -> Estimate:
    """A distance with the 95 % interval of the draws."""
    distances = np.geomspace(SHORTEST_PUTT_M, LONGEST_PUTT_M, 60)
    falling = np.minimum.accumulate(holed(draws, distances), axis=1)
    places = [float(np.interp(-share, -each, distances)) for each in falling]
    low, high = np.quantile(places, [0.025, 0.975])
    return Estimate(middle, min(float(low), middle), max(float(high), middle))


# --- Changes ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Change:
    """A figure now and before, and the difference, which for a spread is a share of the one before."""

    now: Estimate
    before: Estimate
    difference: Estimate
    less_is_better: bool

    @property
    def verdict(self) -> Literal["better", "worse", ""]:
        """Better or worse where the interval of the difference excludes 0; else empty."""
        if not self.difference.sign:
            return ""
        return "better" if (self.difference.sign < 0) is self.less_is_better else "worse"


def difference_of(now: Estimate, before: Estimate) -> Estimate:
    """The difference of two values, with an interval from the intervals of the two.

    Zou & Donner (2008), Stat. Med. 27, 1693-1702; for shares it is method 10 of Newcombe (1998), 17, 873-890.
    """
    between = now.middle - before.middle
    less = hypot(now.middle - now.low, before.high - before.middle)
    more = hypot(now.high - now.middle, before.middle - before.low)
    return Estimate(between, between - less, between + more)


def spread_change(now: Estimate, before: Estimate) -> Change:
    """The change of a spread or of a length, by its ratio. Raises ValueError for one of 0 or less."""
    logs = difference_of(*(Estimate(log(each.middle), log(each.low), log(each.high)) for each in (now, before)))
    ratio = Estimate(exp(logs.middle) - 1, exp(logs.low) - 1, exp(logs.high) - 1)
    return Change(now, before, ratio, less_is_better=True)


def share_change(now: Share, before: Share) -> Change:
    """The change of a share. Raises ZeroDivisionError for 0 of 0."""
    one, other = (Estimate(each.rate, *wilson(each)) for each in (now, before))
    return Change(one, other, difference_of(one, other), less_is_better=False)


def putts_for_a_fifth(draws: Array, distances_m: Sequence[float]) -> int | None:
    """How many putts each time show a fifth less of both errors, by the share holed; None where no number does."""
    improved = draws.copy()
    improved[:, [LINE, PACE]] += FIFTH_LESS
    one, other = (float(holed(each, np.array(distances_m)).mean()) for each in (draws, improved))
    return None if abs(one - other) < 1e-4 else balls_to_tell(one, other)


def gate_balls_for_a_fifth(passed: float) -> int | None:
    """How many balls each time show a fifth less start-line error at a gate that this share passes; None for 0 or 1."""
    if not 0 < passed < 1:
        return None
    normal = NormalDist()
    half_width = normal.inv_cdf((1 + passed) / 2)  # of the gate, in standard deviations of the start line
    return balls_to_tell(passed, 2 * normal.cdf(half_width / FOUR_FIFTHS) - 1)


# --- Chips --------------------------------------------------------------------------------------


def own_rates(draws: Array) -> Rates:
    """The share that a student holes by the draws of the posterior; under 5 cm as from 5 cm."""
    return lambda distances_m: holed(draws, np.maximum(distances_m, 0.05))


def published_rates(distances_m: Array) -> Array:
    """The published share of club players; below 3 ft linear up to all at 1 ft: common practice, no source."""
    near = np.interp(distances_m, [CERTAIN_M, PUBLISHED_FROM_M], [1.0, CLUB_PLAYERS.percent_by_feet[3] / 100])
    rates: Array = np.where(distances_m < PUBLISHED_FROM_M, near, published_share(CLUB_PLAYERS, distances_m))[None]
    return rates


def nearer_or_surer(leaves_m: Sequence[float], putts: Rates) -> Literal["chip", "putt"] | None:
    """Whether chips a fifth nearer save more than holing a fifth of the missed putts; None unless clear."""
    leaves = np.array(leaves_m)
    rates = putts(leaves)
    ahead = putts(FOUR_FIFTHS * leaves) - rates - 0.2 * (1 - rates)  # (putters, balls)
    rng = np.random.default_rng(SEED)
    drawn = rng.integers(len(leaves), size=(RESAMPLES, len(leaves)))
    agreed = float((ahead[np.arange(RESAMPLES)[:, None] % len(ahead), drawn].mean(axis=1) > 0).mean())
    return "chip" if agreed >= AGREED else "putt" if agreed <= 1 - AGREED else None
