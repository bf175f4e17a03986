"""What one page of results is about: the recent tests together, or one test alone beside them."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from coachbook.accounts.models import Academy, Area, Student
from drills.models import ScoredTest
from drills.putting.challenge import USUAL
from drills.putting.predictions import MarginalGain
from drills.putting.unit_formatter import UnitFormatter
from drills.scored_tests.observations import recent_putting_tests
from drills.scored_tests.results.estimates import (
    SHARES,
    ChippingResult,
    Comparison,
    Kind,
    PuttingResult,
    chipping_result,
    compare_each,
    gain_of,
    putting_result,
    recent_chipping_tests,
    unit_formatter,
)
from drills.scored_tests.results.previous import latest_of_each_kind
from lessons.progress.words import on as day_words


@dataclass(frozen=True)
class Results:
    """Tests together, or `test` alone; `recent`: all recent putting tests; `share`: of the target that is asked for."""

    student: Student
    academy: Academy
    on: date
    units: UnitFormatter
    putting: PuttingResult
    chips: ChippingResult
    recent: PuttingResult
    share: float
    test: ScoredTest | None = None

    @property
    def tests(self) -> list[ScoredTest]:
        """The tests used."""
        return [*self.putting.tests, *self.chips.tests]

    @cached_property
    def gain(self) -> MarginalGain | None:
        """What each error is worth in these tests."""
        return gain_of(self.putting)

    @cached_property
    def comparisons(self) -> list[Comparison]:
        """What changed since the test before, for the latest test of each design at each moment.

        Beside other tests a departure is left out: what lasts of a lesson, the next arrival shows.
        """
        known = [] if self.test else self.tests
        return compare_each(latest_of_each_kind(self.shows_what_lasts), known)

    @property
    def shows_what_lasts(self) -> list[ScoredTest]:
        """The tests without those at the end of a lesson; one test alone, whichever it is."""
        return [test for test in self.tests if self.test or test.moment != ScoredTest.Moment.DEPARTURE]


def share_asked(query: Mapping[str, str]) -> float:
    """The share that a coach asks for, if it is one of those on offer."""
    asked = query.get("share", "")
    return next((share for share in SHARES if asked == f"{100 * share:.0f}"), USUAL)


def recent_results(student: Student, academy: Academy, on: date, share: float) -> Results:
    """All tests of the recent period, from the side that the student plays from now."""
    side = student.side(Area.PUTTING)
    putting = putting_result(recent_putting_tests(student, on, side))
    chips = chipping_result(recent_chipping_tests(student, on, student.side(Area.CHIPPING)), putting)
    return Results(student, academy, on, unit_formatter(academy, side), putting, chips, putting, share)


def single_test_results(test: ScoredTest, academy: Academy, on: date, share: float) -> Results:
    """One test, and beside it the recent ones from the side that it was played from."""
    is_chipping = test.design.kind == Kind.CHIPS
    side = test.student.side(Area.PUTTING) if is_chipping else test.side
    recent = putting_result(recent_putting_tests(test.student, on, side))
    putting = putting_result([] if is_chipping else [test])
    chips = chipping_result([test] if is_chipping else [], recent)
    return Results(test.student, academy, on, unit_formatter(academy, test.side), putting, chips, recent, share, test)


def moment_of(test: ScoredTest) -> str:
    """The moment of a lesson behind the name of a test; nothing for one that was done alone."""
    return f", {test.get_moment_display().lower()}" if test.lesson_id else ""


def day_and_moment(test: ScoredTest) -> str:
    """The day of a test, and whether it was at arrival or departure."""
    return f"{day_words(test.day)} ({test.get_moment_display().lower()})" if test.lesson_id else day_words(test.day)
