"""The results page of a student, in plain words; a child reads one sentence and a game."""

from dataclasses import dataclass

import numpy as np

from drills.models import Ball
from drills.putting import predictions, student_text
from drills.putting.challenge import USUAL
from drills.putting.chips import leave_for_share
from drills.putting.normal import Array
from drills.putting.observations import Counted, Gated
from drills.putting.picture import LeavesPicture
from drills.putting.unit_formatter import UnitFormatter
from drills.scored_tests.results.coach_page import putt_leaves
from drills.scored_tests.results.estimates import ChippingResult, Comparison, PuttingResult, balls_in, challenge_of
from drills.scored_tests.results.gather import Results, day_and_moment, moment_of
from drills.scored_tests.wording import summarise_test
from lessons.progress.sentences import FEW
from lessons.wording import render_typed


@dataclass(frozen=True)
class StudentPage:
    """What a student reads; a child reads only `sentence` and `game`."""

    is_child: bool
    sentence: str
    game: str
    summary: list[str]
    targets: list[str]
    work_on: list[str]
    changes: list[tuple[str, str]]
    leaves: LeavesPicture | None
    units: UnitFormatter
    is_empty: bool


def student_page(results: Results) -> StudentPage:
    """Everything for a student."""
    units, recent, comparisons = results.units, results.recent, results.comparisons
    is_child = results.student.is_child(results.on, results.academy.child_until)
    better = next((each.change for each in comparisons if each.change and each.change.verdict == "better"), None)
    return StudentPage(
        is_child=is_child,
        sentence=student_text.child(summary(results), better),
        game=student_text.game(challenge_of(recent, USUAL), units),
        summary=summary(results),
        targets=targets(results, is_child=is_child),
        work_on=work_on(recent),
        changes=[change_words(each, units) for each in comparisons if each.change],
        leaves=putt_leaves(results.putting, units),
        units=units,
        is_empty=not results.tests,
    )


def summary(results: Results) -> list[str]:
    """What was counted, and what to do where a bias is clear."""
    putting, chipping = results.putting, results.chips.chipping
    advice = student_text.advice(putting.estimate, results.units) if putting.estimate else []
    chips = [student_text.chips(chipping, results.units)] if chipping else []
    return [*counts(putting, results.units), *advice, *chips]


def counts(putting: PuttingResult, units: UnitFormatter) -> list[str]:
    """Counted putts and balls through a gate; leaves from far away are for pace, not for putts holed."""
    gates = [observation for observation in putting.observations if isinstance(observation, Gated)]
    passed, balls = sum(gate.passed for gate in gates), sum(balls_in(gate) for gate in gates)
    near = predictions.holed_by_distance([each for each in putting.observations if isinstance(each, Counted)])
    return [words for words in (student_text.holed(near, units), student_text.gated(passed, balls)) if words]


def targets(results: Results, *, is_child: bool) -> list[str]:
    """What to try for next."""
    challenge, chips = challenge_of(results.recent, USUAL), results.chips
    found = student_text.targets(challenge, results.units, is_child=is_child) if challenge else []
    if len(chips.leaves_m) + chips.holed >= FEW:
        leave_m = leave_for_share(*noted_leaves(chips), USUAL)
        found.append(student_text.chip_target(leave_m, USUAL, results.units, is_child=is_child))
    return found


def noted_leaves(chips: ChippingResult) -> tuple[Array, Array]:
    """How far from the hole chips stopped and the step to which that was noted; those that were holed at 0 m."""
    noted = [
        (abs(ball.leave_m or 0.0), test.step_m)
        for test in chips.tests
        for ball in test.balls.all()
        if ball.leave_m is not None or ball.result == Ball.Result.HOLED
    ]
    leaves, steps = np.array(noted).T
    return leaves, steps


def work_on(recent: PuttingResult) -> list[str]:
    """What helps most, where the tests can say."""
    if not recent.posterior or not recent.estimate or not recent.predicts_holed:
        return []
    if not recent.estimate.is_separable or not recent.estimate.fits_model:
        return []
    return student_text.work_on(predictions.marginal_gain(recent.posterior.draws))


def change_words(comparison: Comparison, units: UnitFormatter) -> tuple[str, str]:
    """The name of a test, and how its result changed since the previous one."""
    test, before = comparison.test, comparison.before
    now, then = (summarise_test(each, units.unit) for each in (test, before))
    words = student_text.change_words(comparison.change, day_and_moment(before), now, then)
    return render_typed(test.design.name, test.side) + moment_of(test), words
