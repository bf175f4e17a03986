"""Where a scored test is told of: the sheet of its lesson, the brief, the progress page, and who reads it."""

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from coachbook.loop.sheets.gather import content_of
from drills.models import ScoredTest
from lessons.models import Lesson
from tests.conftest import Cast
from tests.make import academy_today, make_ball, make_design, make_lesson, make_test

Clients = Callable[[str], Client]
DONE = {"status": "complete", "completed_at": datetime(2026, 6, 1, 11, tzinfo=UTC)}


@pytest.fixture
def lesson(cast: Cast) -> Lesson:
    return make_lesson(cast.student, cast.coach, **DONE)


@pytest.fixture
def test(cast: Cast, lesson: Lesson) -> ScoredTest:
    """Four balls through a gate at arrival: two went through, and two to the left of a right-side player."""
    gate = make_design(kind="gate", name="Ball gate", width_m=0.08, distances_m=[1.0])
    told = {"lesson": lesson, "moment": "arrival", "by": cast.coach.user, "day": academy_today()}
    test = make_test(cast.student, gate, **told)
    for result, away in (("through", ""), ("beside", "pull"), ("through", ""), ("beside", "pull")):
        make_ball(test, result, miss=away)
    return test


def text(client: Client, name: str, cast: Cast) -> str:
    answer: Any = client.get(reverse(name, args=[cast.student.key]))
    assert answer.status_code == 200
    return str(answer.content.decode())


def test_the_sheet_of_its_lesson_tells_of_it(cast: Cast, lesson: Lesson, test: ScoredTest) -> None:
    assert content_of(lesson, cast.academy).tests == ("Through the gate, start of the lesson: 2 of 4 through, 2 left.",)


def test_a_test_that_was_taken_back_or_is_not_done_is_on_no_sheet(cast: Cast, lesson: Lesson, test: ScoredTest) -> None:
    ScoredTest.objects.update(is_void=True)
    assert content_of(lesson, cast.academy).tests == ()
    ScoredTest.objects.update(is_void=False, done_at=None)
    assert content_of(lesson, cast.academy).tests == ()


@pytest.mark.parametrize("page", ["brief", "progress"])
def test_the_brief_and_the_progress_tell_of_it(page: str, cast: Cast, as_: Clients, test: ScoredTest) -> None:
    assert "2 of 4 through, 2 left" in text(as_("coach"), page, cast)


def test_the_student_and_the_guardian_read_it_and_a_stranger_does_not(
    cast: Cast, as_: Clients, test: ScoredTest
) -> None:
    for actor in ("student", "guardian"):
        assert "2 of 4 through, 2 left" in text(as_(actor), "progress", cast)
    assert as_("other_coach").get(reverse("tests", args=[cast.student.key])).status_code == 404


def test_every_page_leads_to_the_tests(cast: Cast, as_: Clients) -> None:
    assert reverse("tests", args=[cast.student.key]) in text(as_("student"), "student", cast)
    fresh = as_("coach").get(reverse("lesson_new", args=[cast.student.key]), follow=True).content.decode()
    assert reverse("test_new", args=[cast.student.key]) in fresh
