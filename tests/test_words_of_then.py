"""An old lesson keeps the names that skills and faults had when it was finished; a new one has those of now."""

from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from coachbook.loop.models import Sheet
from coachbook.loop.sheets.issue import issue_sheet
from lessons.models import Fault, Focus, Lesson, Observation, Skill
from tests.conftest import Cast
from tests.make import make_fault, make_lesson, make_skill, this_time
from tests.test_lesson_record import DONE, address, read, see

Clients = Callable[[str], Client]


@pytest.fixture
def old(cast: Cast) -> Lesson:
    """A lesson that was finished ten days ago, with rows of the catalogue that are a year old."""
    grip, stance = make_skill(name="Grip"), make_skill(name="Stance")
    apart = make_fault(grip, name="Hands apart", goal="Hands together")
    at = this_time(days_ago=10)
    for model in (Skill, Fault):
        model.history.update(history_date=this_time(days_ago=365))
    lesson = make_lesson(cast.student, cast.coach, putting=True, completed_at=at, **DONE)
    see(lesson, "arrival", {apart: "clear"}, measure_words="3 cm", words="White knuckles")
    see(lesson, "departure", {}, skill=stance)
    Focus.objects.create(student=cast.student, slot=1, area="putting", fault=apart, opened_in=lesson)
    return lesson


def rename(row: Any, days_ago: int, **texts: str) -> None:
    """Other words for a row since some days."""
    for name, text in texts.items():
        setattr(row, name, text)
    row.save()
    latest = row.history.first()
    latest.history_date = this_time(days_ago=days_ago)
    latest.save()


def rename_all() -> None:
    rename(Fault.objects.get(), 5, name="Hands do not touch", goal="Hands that touch")
    rename(Skill.objects.get(name="Grip"), 5, name="Holding it")
    rename(Skill.objects.get(name="Stance"), 5, name="Feet")


def pages(old: Lesson, as_: Clients) -> list[str]:
    """What shows an old lesson: its record, its line on the student's page, and a passage that a search finds."""
    key = [old.student.key]
    student, search = reverse("student", args=key), f"{reverse('lesson_search', args=key)}?q=clear"
    return [read(as_("coach"), where) for where in (address(old), student, search)]


def test_an_old_lesson_keeps_its_words(old: Lesson, as_: Clients) -> None:
    before = pages(old, as_)
    assert "Hands apart clear" in before[0] and "good: Stance" in before[0] and "Grip, measured 3 cm" in before[0]
    assert "Hands apart" in before[1] and "Hands apart" in before[2]
    with CaptureQueriesContext(connection) as asked:
        read(as_("coach"), address(old))
    rename_all()
    after = pages(old, as_)
    assert (after[0], after[2]) == (before[0], before[2])
    with CaptureQueriesContext(connection) as asked_again:
        read(as_("coach"), address(old))
    assert len(asked_again) == len(asked)


def test_the_line_of_a_lesson_has_the_words_of_then(old: Lesson, as_: Clients) -> None:
    Focus.objects.update(closed_in=old)
    rename_all()
    where = reverse("student", args=[old.student.key])
    words = read(as_("student"), where).partition("Search in the lessons")[2]  # what is finished has the words of now
    assert "Hands together" in words and "Hands that touch" not in words
    words = read(as_("coach"), where)
    assert words.count("Hands apart") == 2 and "Hands do not touch" not in words  # opened and closed


def test_a_lesson_after_the_rename_has_the_new_words(old: Lesson, cast: Cast, as_: Clients) -> None:
    rename_all()
    new = make_lesson(cast.student, cast.coach, days_ago=-1, putting=True, completed_at=timezone.now(), **DONE)
    see(new, "arrival", {Fault.objects.get(): "slight"})
    words = read(as_("coach"), address(new))
    assert "Hands do not touch slight" in words and "Hands apart" not in words


def test_a_merge_leaves_the_words_of_an_old_lesson(old: Lesson, as_: Clients) -> None:
    before = pages(old, as_)
    fault = Fault.objects.get()
    other = make_fault(make_skill(name="Hands"), name="Hands part")
    fault.skill.merge_into(other.skill)
    fault.merge_into(other)
    after = pages(old, as_)
    assert (after[0], after[2]) == (before[0], before[2])


def test_what_was_logged_before_the_history_begins_has_its_first_words(old: Lesson, as_: Clients) -> None:
    for model in (Skill, Fault):
        model.history.update(history_date=this_time(days_ago=7))
    rename_all()
    words = read(as_("coach"), address(old))
    assert "Hands apart clear" in words and "Hands do not touch" not in words


def test_words_of_now_stand_on_a_draft(old: Lesson, as_: Clients) -> None:
    Lesson.objects.update(status="draft", completed_at=None)
    rename_all()
    words = read(as_("coach"), reverse("student", args=[old.student.key]))
    assert "Hands do not touch" in words and "Hands apart" not in words


def test_a_sheet_keeps_the_words_with_which_it_was_issued(old: Lesson, as_: Clients) -> None:
    Observation.objects.filter(words="White knuckles").update(reader="student")
    issue_sheet(lesson=old, at=timezone.now())
    where = reverse("sheet", args=[old.student.key, Sheet.objects.get().key])
    before = read(as_("student"), where)
    assert "Hands together" in before and "Grip" in before
    rename_all()
    assert read(as_("student"), where) == before
