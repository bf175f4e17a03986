"""A coach's day: each lesson with its next step, with an appointment and without one."""

import re
import uuid
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Student
from coachbook.diary.models import Appointment
from coachbook.loop.models import Sheet
from coachbook.loop.sheets.issue import issue_sheet, void_sheet
from lessons.models import Lesson
from tests.conftest import Cast
from tests.make import make_lesson

Clients = Callable[[str], Client]
NOON = datetime(2027, 3, 22, 12, tzinfo=UTC)
FINISHED = {"keep": "A calm start", "putting": "on", "done": "1"}


@pytest.fixture(autouse=True)
def noon(cast: Cast) -> Iterator[None]:
    with time_machine.travel(NOON, tick=False):
        yield


def agreed(cast: Cast, hour: int, **values: str) -> Appointment:
    row = Appointment.objects.create(
        coach=cast.coach, starts_at=NOON.replace(hour=hour), made_by=cast.coach.user, **values
    )
    row.students.set([cast.student])
    return row


def taught(cast: Cast, hour: int, *, finished: bool = True) -> Lesson:
    """A lesson of this day, with its sheet once it is finished."""
    values = {"status": "complete", "completed_at": timezone.now()} if finished else {}
    lesson = make_lesson(cast.student, cast.coach, **values)
    lesson.session.starts_at = NOON.replace(hour=hour)
    lesson.session.save()
    if finished:
        issue_sheet(lesson=lesson, at=timezone.now())
    return lesson


def steps(as_: Clients, page: str = "day") -> list[list[str]]:
    """The next steps that the page offers, for each appointment and then for what had none."""
    main = as_("coach").get(reverse(page)).content.decode().split("<main", 1)[1]
    parts = [re.sub(r"<details.*?</details>", "", part, flags=re.DOTALL) for part in main.split('class="visit"')[1:]]
    links = r'<a class="(?:button|small)[^"]*" href="([^"]+)">([^<]+)<span'
    return [[words for _, words in re.findall(links, part)] for part in parts]


def test_a_walk_in_who_was_logged_and_finished_shows_the_sheet(cast: Cast, as_: Clients) -> None:
    key = uuid.uuid4()
    as_("coach").post(
        reverse("walk_in", args=[key]), {"name": "Dilys Harrowbell", "age_group": "adult", "plays": "left"}
    )
    log = reverse("lesson", args=[key, uuid.uuid4()])
    as_("coach").post(log, {"day": "2027-03-22", **FINISHED})
    sheet = Sheet.objects.get(lesson__student=Student.objects.get(name="Dilys Harrowbell"))
    for page in ("day", "week"):
        assert steps(as_, page) == [["Sheet"]]
        assert reverse("sheet", args=[key, sheet.key]) in as_("coach").get(reverse(page)).content.decode()


def test_each_lesson_of_one_student_has_its_next_step(cast: Cast, as_: Clients) -> None:
    """One was agreed; the student stays for a second one, and for a third that is not finished."""
    agreed(cast, 9, status="kept")
    for hour in (9, 10):
        taught(cast, hour)
    taught(cast, 11, finished=False)
    assert steps(as_) == [["Sheet"], ["Sheet", "Finish the log"]]


def test_the_second_appointment_of_a_day_is_not_logged_with_the_first(cast: Cast, as_: Clients) -> None:
    agreed(cast, 9, status="kept")
    agreed(cast, 16)
    taught(cast, 9)
    assert steps(as_) == [["Sheet"], ["Brief", "Log"]]


@pytest.mark.parametrize("status", ["missed", "cancelled"])
def test_a_lesson_belongs_to_the_appointment_that_was_kept(status: str, cast: Cast, as_: Clients) -> None:
    agreed(cast, 9, status=status)
    agreed(cast, 11, status="kept")
    taught(cast, 11)
    assert steps(as_) == [[], ["Sheet"]]


def test_a_lesson_for_an_appointment_that_was_cancelled_shows_its_sheet(cast: Cast, as_: Clients) -> None:
    agreed(cast, 9, status="cancelled")
    taught(cast, 9)
    assert steps(as_) == [["Sheet"]]


def test_after_a_sheet_was_withdrawn_the_next_step_is_the_log(cast: Cast, as_: Clients) -> None:
    lesson = taught(cast, 9)
    void_sheet(sheet=lesson.sheets.get(), reason="The wrong drill", at=timezone.now())
    assert steps(as_) == [["The log"]]


def test_what_was_logged_yesterday_stands_on_yesterdays_page(cast: Cast, as_: Clients) -> None:
    lesson = taught(cast, 9)
    lesson.session.starts_at -= timedelta(days=1)
    lesson.session.save()
    assert steps(as_) == []
