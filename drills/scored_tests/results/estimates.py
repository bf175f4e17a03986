"""What a student's scored tests show, from rows to estimates. It imports numpy and scipy: import it late."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal, cast

import numpy as np

from coachbook.accounts.models import Academy, Area, Student
from drills.models import Ball, Design, ScoredTest
from drills.putting import predictions, student_text
from drills.putting.challenge import USUAL
from drills.putting.chips import Chipping, Rates, chipping, leave_for_share
from drills.putting.gates import gate_posterior
from drills.putting.model_checks import is_separable, model_fit_p_value
from drills.putting.normal import PACE
from drills.putting.observations import Gated, Leaves, Observation
from drills.putting.posterior import Estimate, Posterior, compute_posterior
from drills.putting.predictions import Challenge, Change, MarginalGain, PutterEstimate
from drills.putting.read_and_aim import LineComparison
from drills.putting.unit_formatter import UnitFormatter
from drills.scored_tests.observations import RECENT_PERIOD, observations_of, recent_putting_tests
from drills.scored_tests.results.previous import previous_test, previous_tests
from lessons.progress.intervals import Share
from lessons.progress.sentences import FEW

__all__ = ["previous_test"]
SHARES = (0.6, USUAL, 0.8)
GATE_AT_M = 1.0  # where a gate is assumed to stand before the first test of one; common practice, no source
POOR_FIT = 0.05  # with a smaller p-value the model does not describe the putts
Kind = Design.Kind


@dataclass(frozen=True)
class PuttingResult:
    """Some putting tests and their posterior; None where there are few balls. `unread` tests have impossible rows.

    `lines` compares gates with putts at a hole where there are both. The posterior is of all balls where the two agree,
    and else of the putts without the gates.
    """

    tests: list[ScoredTest]
    observations: list[Observation]
    unread: int
    posterior: Posterior | None
    estimate: PutterEstimate | None
    lines: LineComparison | None = None

    @property
    def balls(self) -> int:
        """The balls of all observations."""
        return sum(balls_in(observation) for observation in self.observations)

    @property
    def holed_by_distance(self) -> dict[float, Share]:
        """Putts holed, for each distance at which any were tried."""
        counts = predictions.holed_by_distance(self.observations)
        return {distance: share for distance, share in counts.items() if share.of}

    @property
    def holed(self) -> Share:
        """All putts holed of all that were tried at a hole."""
        return predictions.total_share(self.holed_by_distance)

    @property
    def predicts_holed(self) -> bool:
        """Whether putts holed can be predicted."""
        return self.estimate is not None and self.estimate.has_line_and_pace


def putting_result(tests: Sequence[ScoredTest]) -> PuttingResult:
    """All tests together."""
    read, unread = readable(tests)
    return result_of(read, list(tests), unread)


def result_of(read: Iterable[Observation], tests: Sequence[ScoredTest] = (), unread: int = 0) -> PuttingResult:
    """What observations say: gates and putts at a hole side by side where there are both."""
    observations = [observation for observation in read if balls_in(observation)]
    if sum(balls_in(observation) for observation in observations) < FEW:
        return PuttingResult(list(tests), observations, unread, None, None)
    lines = compare_lines(observations)
    if lines is None:
        posterior = compute_posterior(observations)
        return PuttingResult(list(tests), observations, unread, posterior, estimate_of(posterior, observations))
    used = observations if lines.agrees else without_gates(observations)
    posterior = compute_posterior(used) if lines.agrees else lines.at_hole
    estimate = predictions.beside_stroke(estimate_of(posterior, used), lines)
    return PuttingResult(list(tests), observations, unread, posterior, estimate, lines)


def compare_lines(observations: Sequence[Observation]) -> LineComparison | None:
    """The stroke by gates beside the line at the hole by all other putts; None unless there are enough of both."""
    gates, others = [each for each in observations if isinstance(each, Gated)], without_gates(observations)
    at_hole = sum(balls_in(each) for each in others if is_at_hole(each))
    if min(sum(balls_in(each) for each in gates), at_hole) < FEW:
        return None
    return LineComparison(compute_posterior(gates), compute_posterior(others))


def without_gates(observations: Iterable[Observation]) -> list[Observation]:
    """All but balls at a gate."""
    return [each for each in observations if not isinstance(each, Gated)]


def readable(tests: Iterable[ScoredTest]) -> tuple[list[Observation], int]:
    """The observations of all tests, and how many tests are impossible: a gate without a width, a negative length."""
    observations: list[Observation] = []
    unread = 0
    for test in tests:
        try:
            observations += observations_of(test)
        except ValueError:
            unread += 1
    return observations, unread


def balls_in(observation: Observation) -> int:
    """The number of balls of an observation."""
    if isinstance(observation, Gated):
        return observation.balls
    if isinstance(observation, Leaves):
        return len(observation.leaves_m) + observation.holed
    return observation.tried


def estimate_of(posterior: Posterior, observations: Sequence[Observation]) -> PutterEstimate:
    """The estimate of a posterior; a parameter that fewer than `FEW` balls inform is None."""
    line = sum(balls_in(each) for each in observations if is_at_hole(each) or isinstance(each, Gated))
    pace = sum(balls_in(each) for each in observations if not isinstance(each, Gated))
    fits_model = model_fit_p_value(observations, posterior.fit.theta, posterior.tails) >= POOR_FIT
    separable = is_separable(posterior)
    estimate = predictions.putter_estimate(posterior, is_separable=separable, fits_model=fits_model)
    if line < FEW:
        estimate = replace(estimate, line=None, line_bias=None)
    return estimate if pace >= FEW else replace(estimate, pace=None, pace_bias=None)


def is_at_hole(observation: Observation) -> bool:
    """Whether there was a hole to miss."""
    return not isinstance(observation, Gated) and (not isinstance(observation, Leaves) or observation.hole)


# --- Tests --------------------------------------------------------------------------------------


def recent_chipping_tests(student: Student, on: date, side: str) -> list[ScoredTest]:
    """The finished chipping tests of the recent period from one side, with their balls."""
    period = (on - RECENT_PERIOD, on)
    found = student.scored_tests.done().filter(design__area=Area.CHIPPING, side=side, day__range=period)
    return list(found.prefetch_related("balls"))


def unit_formatter(academy: Academy, side: str) -> UnitFormatter:
    """How lengths and sides are written for a player of this side."""
    return UnitFormatter(cast(Literal["m", "ft"], academy.units), side)


def gate_distance(tests: Iterable[ScoredTest]) -> float:
    """Where this student's gate stood last, in metres."""
    gates = (ball.distance_m for test in tests if test.design.kind == Kind.GATE for ball in test.balls.all())
    return next(gates, GATE_AT_M)


def challenge_of(result: PuttingResult, share: float) -> Challenge | None:
    """The next challenge; None with too few balls, or where there is nothing to set."""
    if result.posterior is None or result.estimate is None:
        return None
    gates = [each for each in result.observations if isinstance(each, Gated)]
    if not gates and not result.estimate.fits_model:
        return None
    return predictions.find_challenge(result.posterior, result.estimate, gates, gate_distance(result.tests), share)


def gain_of(putting: PuttingResult) -> MarginalGain | None:
    """What each error is worth; None where start line and pace are not both known, or the model does not fit."""
    if not putting.posterior or not putting.estimate or not putting.predicts_holed:
        return None
    if not putting.estimate.is_separable or not putting.estimate.fits_model:
        return None
    at_hole = putting.estimate.at_hole
    return predictions.marginal_gain(putting.posterior.draws, reads=bool(at_hole and at_hole.is_wider))


# --- Chips --------------------------------------------------------------------------------------


@dataclass(frozen=True)
class ChippingResult:
    """Some chips; `is_own` if the putts after them are the student's own estimate and not a published average."""

    tests: list[ScoredTest]
    leaves_m: list[float]
    holed: int
    is_own: bool
    chipping: Chipping | None
    more: Literal["chip", "putt"] | None


def chipping_result(tests: Sequence[ScoredTest], putting: PuttingResult) -> ChippingResult:
    """What chips leave, followed by the student's own putts where they are known, else by the published average."""
    balls = [ball for test in tests for ball in test.balls.all()]
    leaves = [abs(ball.leave_m) for ball in balls if ball.leave_m is not None]
    holed = sum(ball.result == Ball.Result.HOLED for ball in balls)
    is_own = bool(putting.predicts_holed and putting.estimate and putting.estimate.fits_model)
    rates: Rates = predictions.published_rates
    if is_own and putting.posterior:
        rates = predictions.own_rates(putting.posterior.draws)
    found = chipping(leaves, holed, rates) if leaves or holed else None
    more = predictions.nearer_or_surer(leaves, rates) if len(leaves) >= FEW else None
    return ChippingResult(list(tests), leaves, holed, is_own, found, more)


def chip_target_m(chips: ChippingResult, share: float) -> float | None:
    """The length within which so large a share of the next chips stop; None of fewer than `FEW` chips."""
    noted = [
        (abs(ball.leave_m or 0.0), test.step_m)
        for test in chips.tests
        for ball in test.balls.all()
        if ball.leave_m is not None or ball.result == Ball.Result.HOLED
    ]
    if len(noted) < FEW:
        return None
    leaves, steps = np.array(noted).T
    return leave_for_share(leaves, steps, share)


# --- Changes ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Comparison:
    """A test, the one before, and what changed: None, with the reason, where the two cannot be compared."""

    test: ScoredTest
    before: ScoredTest
    what: str
    change: Change | None
    reason: str = ""


WHAT = {
    Kind.GATE: "Start-line error",
    Kind.LEAVES: "Pace error",
    Kind.LADDER: "Pace error",
    Kind.COUNTED: "Holed",
    Kind.CHIPS: "Half stop within",
}


def compare_with_previous(test: ScoredTest) -> Comparison | None:
    """What changed since the previous test; None where there was none."""
    return next(iter(compare_each([test])), None)


def compare_each(tests: Sequence[ScoredTest], known: Sequence[ScoredTest] = ()) -> list[Comparison]:
    """What changed since the test before each of some tests of one student, where there was one.

    `known` are tests with their balls, all of them since some day: they need not be asked for again.
    """
    before = previous_tests(tests, known)
    return [compare(test, before[test.pk]) for test in tests if test.pk in before]


def compare(test: ScoredTest, earlier: ScoredTest) -> Comparison:
    """What changed between two tests."""
    what = WHAT[Kind(test.design.kind)]
    if min(len(test.balls.all()), len(earlier.balls.all())) < FEW:
        return Comparison(test, earlier, what, None, "too few balls to compare")
    change = change_of(test, earlier)
    return Comparison(test, earlier, what, change, "" if change else "set up differently, so not to be compared")


def change_of(test: ScoredTest, earlier: ScoredTest) -> Change | None:
    """The change of what this design measures."""
    if test.design.kind == Kind.CHIPS:
        return chips_change(test, earlier)
    if test.design.kind == Kind.COUNTED:
        return counted_change(test, earlier)
    now, then = spread_of(test), spread_of(earlier)
    return predictions.spread_change(now, then) if now and then else None


def spread_of(test: ScoredTest) -> Estimate | None:
    """The spread that one test measures: of the start line at a gate, else of pace; None of fewer than `FEW` balls."""
    observations = [observation for observation in readable([test])[0] if balls_in(observation)]
    if sum(balls_in(observation) for observation in observations) < FEW:
        return None
    if test.design.kind == Kind.GATE:
        return gate_posterior([each for each in observations if isinstance(each, Gated)]).line_deg
    posterior = compute_posterior(observations)
    return posterior.pace if posterior.identifiable[PACE] else None


def counted_change(test: ScoredTest, earlier: ScoredTest) -> Change | None:
    """The change of the share holed; None unless both tests had as many putts from the same distances."""
    now, then = (predictions.holed_by_distance(readable([each])[0]) for each in (test, earlier))
    if {distance: share.of for distance, share in now.items()} != {d: share.of for d, share in then.items()}:
        return None
    return predictions.share_change(predictions.total_share(now), predictions.total_share(then))


def chips_change(test: ScoredTest, earlier: ScoredTest) -> Change | None:
    """The change of the median leave; None from other distances, or where so many chips were holed that it is 0."""
    if distances_of(test) != distances_of(earlier):
        return None
    now, then = median_leave(test), median_leave(earlier)
    if not now or not then or min(now.low, then.low) <= 0:
        return None
    return predictions.spread_change(now, then)


def median_leave(test: ScoredTest) -> Estimate | None:
    """The median leave of the chips of one test; None for no chips."""
    found = chipping_result([test], putting_result([])).chipping
    return found.leave_m if found else None


def distances_of(test: ScoredTest) -> set[float]:
    """The distances of its balls, in metres."""
    return {round(ball.distance_m, 3) for ball in test.balls.all()}


# --- Targets for a prescription -----------------------------------------------------------------


def success_targets(student: Student, on: date, share: float = USUAL, academy: Academy | None = None) -> list[str]:
    """Two targets at most that fit a student today: how many of ten, from where or through which gate."""
    academy, side = academy or Academy.current(), student.side(Area.PUTTING)
    challenge = challenge_of(putting_result(recent_putting_tests(student, on, side)), share)
    if challenge is None:
        return []
    is_child = student.is_child(on, academy.child_until)
    return student_text.targets(challenge, unit_formatter(academy, side), is_child=is_child)
