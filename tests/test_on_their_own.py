"""A student left alone for months still has drills, and the page says whose; what was finished stays on show."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from coachbook.loop.sheets.issue import issue_sheet, void_sheet
from coachbook.loop.students.on_their_own import LONG
from drills.models import Prescription
from lessons.models import Focus, Lesson
from tests.conftest import Cast
from tests.make import academy_today, make_drill, make_fault, make_prescription, make_skill, this_time
from tests.test_months import lesson_on

Clients = Callable[[str], Client]
SAME = "These drills are from its sheet, and they still make sense."
LAST = "The last drills are from the lesson on"


def taught(cast: Cast, days: int, **values: Any) -> Lesson:
    """A finished lesson so many days ago."""
    return lesson_on(cast.student, cast.coach, academy_today() - timedelta(days=days), **values)


@pytest.fixture
def given(cast: Cast) -> Prescription:
    """A drill from a lesson that was just long enough ago."""
    lesson = taught(cast, LONG.days)
    focus = Focus.objects.create(
        student=cast.student,
        opened_in=lesson,
        slot=1,
        area="putting",
        fault=make_fault(make_skill(), goal="Hold still"),
    )
    row = make_prescription(lesson, focus, drill=make_drill(name="Freeze the finish"))
    Prescription.objects.filter(pk=row.pk).update(
        begins=academy_today() - LONG, review_on=academy_today(), ended_on=None
    )
    issue_sheet(lesson=lesson, at=timezone.now())
    return Prescription.objects.get(pk=row.pk)


def today(client: Client, cast: Cast) -> str:
    answer = client.get(reverse("today", args=[cast.student.key]))
    return " ".join(answer.content.decode().split())


def test_after_eight_weeks_the_drills_are_still_there_and_said_to_be_of_the_last_sheet(
    given: Prescription, cast: Cast, as_: Clients
) -> None:
    page = today(as_("student"), cast)
    assert "Freeze the finish" in page and SAME in page
    assert f"{academy_today() - LONG:%-d %B %Y}" in page
    assert reverse("sheet", args=[cast.student.key, given.lesson.sheets.get().key]) in page
    assert SAME in today(as_("guardian"), cast)


def test_a_day_earlier_nothing_is_said(given: Prescription, cast: Cast, as_: Clients) -> None:
    taught(cast, LONG.days - 1)
    page = today(as_("student"), cast)
    assert SAME not in page and LAST not in page and "Freeze the finish" in page


def test_a_draft_and_a_lesson_that_they_missed_are_no_lesson(given: Prescription, cast: Cast, as_: Clients) -> None:
    taught(cast, 3, status="draft", completed_at=None)
    taught(cast, 2, attendance="absent")
    assert SAME in today(as_("student"), cast)


def test_where_every_drill_has_ended_those_of_the_last_sheet_are_named(
    given: Prescription, cast: Cast, as_: Clients
) -> None:
    Prescription.objects.update(ended_on=academy_today() - timedelta(days=30))
    page = today(as_("student"), cast)
    assert "No drill for today." in page and LAST in page and "Freeze the finish</a>" in page
    void_sheet(sheet=given.lesson.sheets.get(), reason="wrong", at=timezone.now())
    page = today(as_("student"), cast)
    assert LAST in page and "That sheet" not in page, "a sheet that was withdrawn is not led to"
    Prescription.objects.all().delete()
    assert LAST not in today(as_("student"), cast), "nothing was ever given"


def test_the_page_asks_the_database_twelve_times_at_most(given: Prescription, cast: Cast, as_: Clients) -> None:
    client = as_("student")
    today(client, cast)
    with CaptureQueriesContext(connection) as captured:
        today(client, cast)
    assert len(captured) <= 12


@pytest.mark.parametrize("page", ["student", "progress"])
def test_what_was_finished_stays_on_show(page: str, given: Prescription, cast: Cast, as_: Clients) -> None:
    closing = taught(cast, 40)
    Focus.objects.update(closed_in=closing)
    month = f"{academy_today() - timedelta(days=40):%B %Y}"
    address = reverse(page, args=[cast.student.key])
    own, family = (as_(actor).get(address).content.decode() for actor in ("student", "guardian"))
    assert "Hold still" in own and f"You finished this in {month}." in own and f"Finished in {month}." in family
    assert "You finished" not in as_("coach").get(address).content.decode()


def test_what_is_worked_on_again_is_not_called_finished(given: Prescription, cast: Cast, as_: Clients) -> None:
    closing = taught(cast, 40)
    Focus.objects.update(closed_in=closing)
    values = {"student": cast.student, "slot": 1, "area": "putting", "fault": given.focus.fault}
    Focus.objects.create(opened_in=taught(cast, 20), **values)
    address = reverse("student", args=[cast.student.key])
    assert "You finished" not in as_("student").get(address).content.decode()
    Lesson.objects.filter(session__starts_at__gt=this_time(days_ago=30)).update(status="draft")
    assert "You finished" in as_("student").get(address).content.decode(), "a draft opens nothing yet"


def test_the_latest_that_was_finished_stands_first(given: Prescription, cast: Cast, as_: Clients) -> None:
    fault = given.focus.fault
    assert fault
    other = make_fault(fault.skill, goal="Stand still")
    lessons = [taught(cast, days) for days in (300, 200, 100, 50)]
    for worked_on, opened, closed in ((fault, 0, 1), (other, 1, 2), (fault, 2, 3)):
        values = {"fault": worked_on, "opened_in": lessons[opened], "closed_in": lessons[closed]}
        Focus.objects.create(student=cast.student, slot=2, area="putting", **values)
    Focus.objects.filter(pk=given.focus_id).update(closed_in=taught(cast, 250))
    page = as_("student").get(reverse("student", args=[cast.student.key])).content.decode()
    shown = page.split('id="finished"')[1].split("</section>")[0]
    assert shown.count("Hold still") == 1 and shown.index("Hold still") < shown.index("Stand still")


def test_a_trial_that_was_dropped_is_not_called_finished(given: Prescription, cast: Cast, as_: Clients) -> None:
    closing = taught(cast, 40)
    Focus.objects.update(closed_in=closing, kind="trial", decide_on=academy_today(), decision="dropped")
    assert "You finished" not in as_("student").get(reverse("student", args=[cast.student.key])).content.decode()
