"""A focus that a lesson closes stands on its sheet as the success it is; what was issued before stays as it was."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Student
from coachbook.loop.models import Sheet
from coachbook.loop.sheets.content import as_stored, content_from
from coachbook.loop.sheets.gather import content_of
from coachbook.loop.sheets.issue import issue_sheet
from coachbook.loop.sheets.views import print_html
from lessons.models import Fault, Focus, Lesson
from tests.conftest import Cast
from tests.make import make_fault, make_lesson, make_skill

pytestmark = pytest.mark.one_database
Clients = Callable[[str], Client]
DONE: dict[str, Any] = {"status": "complete"}


@pytest.fixture
def fault(cast: Cast) -> Fault:
    return make_fault(make_skill(), name="Hands-apart-canary", goal="{Lead} hand low", plain="Let your hands touch.")


@pytest.fixture
def last(cast: Cast, fault: Fault) -> Lesson:
    """A lesson that closed one focus and a trial that was kept and one that was dropped, all opened before it."""
    Student.objects.filter(pk=cast.student.pk).update(putting_side="left", birth_year=1990)
    cast.student.refresh_from_db()
    first = make_lesson(cast.student, cast.coach, days_ago=60, completed_at=timezone.now(), **DONE)
    last = make_lesson(cast.student, cast.coach, completed_at=timezone.now(), keep="Calm", **DONE)
    about: dict[str, Any] = {"student": cast.student, "opened_in": first, "closed_in": last, "area": "putting"}
    Focus.objects.create(slot=1, fault=fault, **about)
    for decision in ("kept", "dropped"):
        trial = {"kind": "trial", "what": f"A pencil grip, {decision}", "decide_on": "2026-06-01"}
        Focus.objects.create(slot=2, decision=decision, **trial, **about)
    return last


def test_it_is_praised_in_the_students_words_and_by_what_was_decided(last: Lesson, cast: Cast) -> None:
    closed = content_of(last, cast.academy).closed
    assert [(focus.label, focus.heading) for focus in closed] == [
        ("Finished", "Right hand low"),
        ("You keep it", "A pencil grip, kept"),
        ("Tried", "A pencil grip, dropped"),
    ]
    assert all("Well done" in focus.words for focus in closed)
    assert "canary" not in str(as_stored(content_of(last, cast.academy)))


def test_it_stands_on_the_phone_and_on_paper(last: Lesson, cast: Cast, as_: Clients) -> None:
    sheet = issue_sheet(lesson=last, at=timezone.now())
    page = as_("student").get(reverse("sheet", args=[cast.student.key, sheet.key])).content.decode()
    paper = print_html(content_from(sheet.content), "A4")
    for words in ("Finished: Right hand low", "You keep it: A pencil grip, kept", "Tried: A pencil grip, dropped"):
        assert words in page and words in paper, words


def test_a_childs_sheet_says_it_in_few_words(last: Lesson, cast: Cast) -> None:
    Student.objects.filter(pk=cast.student.pk).update(birth_year=2017)
    content = content_of(Lesson.objects.get(pk=last.pk), cast.academy)
    assert content.child and len(content.closed) == 2
    assert "Finished: Right hand low" in print_html(content, "A4")
    assert all(len(focus.words.split()) <= 5 for focus in content.closed)


def test_what_was_opened_and_closed_by_mistake_in_one_lesson_is_no_success(last: Lesson, cast: Cast) -> None:
    Focus.objects.update(opened_in=last)
    assert content_of(last, cast.academy).closed == ()


def test_a_later_lesson_does_not_praise_it_again(last: Lesson, cast: Cast) -> None:
    later = make_lesson(cast.student, cast.coach, days_ago=-7, completed_at=timezone.now(), **DONE)
    assert content_of(later, cast.academy).closed == ()


def test_a_sheet_that_was_issued_before_stays_as_it_was(last: Lesson, cast: Cast, as_: Clients) -> None:
    sheet = issue_sheet(lesson=last, at=timezone.now())
    stored = {name: value for name, value in sheet.content.items() if name != "closed"}
    Sheet.objects.filter(pk=sheet.pk).update(content=stored)
    page = as_("student").get(reverse("sheet", args=[cast.student.key, sheet.key])).content.decode()
    assert content_from(stored).closed == () and "Finished" not in page and "Calm" in page


def test_stored_and_read_back_it_is_the_same(last: Lesson, cast: Cast) -> None:
    content = content_of(last, cast.academy)
    assert content.closed and content_from(as_stored(content)) == content
