"""The results page of a student, in plain words; a child reads one sentence and a game."""

from collections.abc import Iterable
from dataclasses import dataclass

from drills.models import ScoredTest
from drills.putting import student_text
from drills.putting.challenge import USUAL
from drills.putting.picture import LeavesPicture
from drills.putting.unit_formatter import UnitFormatter
from drills.scored_tests.results.coach_page import putt_leaves
from drills.scored_tests.results.estimates import Comparison, PuttingResult, challenge_of, chip_target_m, gain_of
from drills.scored_tests.results.gather import Results, day_and_moment, moment_of
from drills.scored_tests.results.summary import counted_putts, gate_share
from drills.scored_tests.wording import aim_place, summarise_test
from lessons.plain_words import plain
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
        work_on=work_on(recent, units),
        changes=[change_words(each, units) for each in comparisons if each.change],
        leaves=putt_leaves(results.putting, units),
        units=units,
        is_empty=not results.tests,
    )


def summary(results: Results) -> list[str]:
    """What was counted, and what to do where a bias is clear."""
    putting, chipping = results.putting, results.chips.chipping
    aim = shared_aim(putting.tests, results.units)
    advice = student_text.advice(putting.estimate, results.units, aim) if putting.estimate else []
    chips = [student_text.chips(chipping, results.units)] if chipping else []
    return [*counts(putting, results.units), *chips, *advice]


def shared_aim(tests: Iterable[ScoredTest], units: UnitFormatter) -> str:
    """Where all tests that have an aim asked putts to stop; empty where they differ."""
    aims = {aim for test in tests if (aim := aim_place(test, units.unit))}
    return aims.pop() if len(aims) == 1 else ""


def counts(putting: PuttingResult, units: UnitFormatter) -> list[str]:
    """Counted putts and balls through a gate, in one sentence."""
    words = student_text.counts(counted_putts(putting), gate_share(putting), units)
    return [words] if words else []


def targets(results: Results, *, is_child: bool) -> list[str]:
    """What to try for next."""
    challenge = challenge_of(results.recent, USUAL)
    found = student_text.targets(challenge, results.units, is_child=is_child) if challenge else []
    chips_m = chip_target_m(results.chips, USUAL)
    if chips_m is not None:
        found.append(student_text.chip_target(chips_m, USUAL, results.units, is_child=is_child))
    return found


def work_on(recent: PuttingResult, units: UnitFormatter) -> list[str]:
    """What helps most, where the tests can say."""
    gain = gain_of(recent)
    return student_text.work_on(gain, recent.estimate, units) if gain and recent.estimate else []


def change_words(comparison: Comparison, units: UnitFormatter) -> tuple[str, str]:
    """The name of a test, and how its result changed since the previous one."""
    test, before = comparison.test, comparison.before
    now, then = (summarise_test(each, units.unit) for each in (test, before))
    words = student_text.change_words(comparison.change, plain(day_and_moment(before)), now, then)
    return plain(render_typed(test.design.name, test.side) + moment_of(test)), words
