"""A student or guardian reports that the student cannot come: the coach sees it and the time is free."""

import re
import uuid
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from html import unescape

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from icalendar import Calendar

from coachbook.diary.calendar.feed import calendar_for
from coachbook.diary.models import Absence, Appointment
from tests.conftest import Cast
from tests.make import make_student

Clients = Callable[[str], Client]
HEEL = "My heel hurts."


@pytest.fixture(autouse=True)
def spring(cast: Cast) -> object:
    """Monday 22 March 2027 at the academy."""
    with time_machine.travel(datetime(2027, 3, 22, 9, tzinfo=UTC), tick=False):
        yield


@pytest.fixture
def lesson_tomorrow(cast: Cast) -> Appointment:
    return planned(cast, datetime(2027, 3, 23, 16, tzinfo=UTC))


def planned(cast: Cast, at: datetime) -> Appointment:
    """An appointment of the student."""
    row = Appointment.objects.create(coach=cast.coach, starts_at=at, made_by=cast.coach.user)
    row.students.add(cast.student)
    return row


def report(client: Client, cast: Cast, key: uuid.UUID | None = None, **values: str) -> str:
    """The page after reporting that the student cannot come tomorrow."""
    typed = {"first_day": "2027-03-23", "last_day": "", "reason": "ill", "words": HEEL, **values}
    address = reverse("absence_report", args=[cast.student.key, key or uuid.uuid4()])
    return unescape(client.post(address, typed, follow=True).content.decode())


def page_of(client: Client, name: str, *args: object, ask: str = "") -> str:
    return unescape(client.get(reverse(name, args=args) + ask).content.decode())


def test_the_coach_sees_who_cannot_come_and_why(cast: Cast, as_: Clients, lesson_tomorrow: Appointment) -> None:
    """On the day and the week, on the student's page, and in the calendar; the student sees it, too."""
    assert f'href="{reverse("absences", args=[cast.student.key])}?day=2027-03-23"' in page_of(
        as_("student"), "today", cast.student.key
    )
    assert "Thank you. Tuesday 23 March 2027" in report(as_("student"), cast)
    day = page_of(as_("coach"), "day", ask="?day=2027-03-23")
    assert "Alder Quimble: ill" in day and HEEL in day and "<b>free</b>" in day
    assert "Reported by Alder Quimble" in day
    week = page_of(as_("coach"), "week", ask="?day=2027-03-23")
    assert "<b>ill</b>" in week and "<b>free</b>" in week and HEEL not in week
    for person in ("coach", "student"):
        assert "Reported: ill" in page_of(as_(person), "student", cast.student.key)
    now = timezone.now()
    feed = Calendar.from_ical(calendar_for(cast.coach, cast.academy, now, "example.org", site="https://example.org/"))
    (event,) = feed.walk("VEVENT")
    assert (event["transp"], str(event["summary"])) == ("TRANSPARENT", "Cannot come: A.Q.")


def test_the_time_is_free_for_somebody_else(cast: Cast, as_: Clients, lesson_tomorrow: Appointment) -> None:
    """Nobody is warned of an appointment to which none of its students can come, and of one to which one can."""
    other = make_student("Wren Sallow", coach=cast.coach)
    typed = {"coach": cast.coach.pk, "day": "2027-03-23", "time": "16:00", "minutes": "60", "repeat": "once"}
    address = reverse("appointment", args=[other.key, uuid.uuid4()])
    report(as_("student"), cast)
    lesson_tomorrow.students.add(friend := make_student("Fern Oatley", coach=cast.coach))
    assert "has an appointment on" in as_("coach").post(address, typed).content.decode()
    lesson_tomorrow.students.remove(friend)
    assert as_("coach").post(address, typed).status_code == 302


def test_it_is_withdrawn_and_all_is_as_planned(cast: Cast, as_: Clients, lesson_tomorrow: Appointment) -> None:
    report(as_("student"), cast)
    row = Absence.objects.get()
    address = reverse("absence_withdraw", args=[cast.student.key, row.key])
    for _ in range(2):
        assert "Withdrawn" in as_("student").post(address, follow=True).content.decode()
    row.refresh_from_db()
    assert row.withdrawn_by == cast.student.user and row.history.count() == 2
    assert "free" not in page_of(as_("coach"), "day", ask="?day=2027-03-23").split("<main")[1]
    assert "Thank you" in report(as_("student"), cast), "the same days can be reported again"


def test_a_guardian_reports_a_span_of_days(cast: Cast, as_: Clients, lesson_tomorrow: Appointment) -> None:
    """Both ends count; a lesson after them stays as it is."""
    type(cast.student).objects.filter(pk=cast.student.pk).update(birth_year=2016)
    planned(cast, datetime(2027, 3, 26, 16, tzinfo=UTC))
    planned(cast, datetime(2027, 3, 27, 16, tzinfo=UTC))
    assert "Tuesday 23 March 2027 to Friday 26 March 2027" in report(
        as_("guardian"), cast, last_day="2027-03-26", reason="away", words=""
    )
    for day, is_free in ((23, True), (26, True), (27, False)):
        page = page_of(as_("coach"), "day", ask=f"?day=2027-03-{day}").split("<main")[1]
        assert ("<b>free</b>" in page, "away" in page) == (is_free, is_free), day


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ({"first_day": "2027-03-21"}, "This day has passed. For a lesson that is over, send a message instead."),
        ({"first_day": ""}, "Choose a day."),
        ({"first_day": "soon"}, "Type a day, such as 2027-03-22."),
        ({"last_day": "2027-03-22"}, "This day comes before the first one."),
        ({"last_day": "2029-03-22"}, "Choose days within a year."),
        ({"reason": "lazy"}, "Select a valid choice"),
        ({"words": "x" * 301}, "at most 300 characters"),
    ],
)
def test_what_cannot_be_reported_is_said_beside_its_field(
    cast: Cast, as_: Clients, typed: dict[str, str], message: str
) -> None:
    page = report(as_("student"), cast, **typed)
    assert message in page and not Absence.objects.exists()
    assert typed.get("words", HEEL) in page, "what was typed stays"


def test_days_that_are_reported_already_are_named(cast: Cast, as_: Clients) -> None:
    report(as_("student"), cast, last_day="2027-03-25")
    page = report(as_("coach"), cast, first_day="2027-03-25", last_day="2027-03-30", reason="away")
    assert "Tuesday 23 March 2027 to Thursday 25 March 2027 is reported already." in page
    assert Absence.objects.count() == 1


def test_days_before_and_after_those_are_free_to_report(cast: Cast, as_: Clients) -> None:
    report(as_("student"), cast, first_day="2027-03-25", last_day="2027-03-26")
    for day in ("2027-03-24", "2027-03-27"):
        assert "Thank you" in report(as_("student"), cast, first_day=day, last_day=day)
    assert Absence.objects.count() == 3


def test_a_double_tap_reports_once(cast: Cast, as_: Clients) -> None:
    key = uuid.uuid4()
    for _ in range(2):
        assert "Thank you" in report(as_("student"), cast, key)
    assert Absence.objects.count() == 1


def test_a_lesson_that_was_given_anyway_is_not_free(cast: Cast, as_: Clients, lesson_tomorrow: Appointment) -> None:
    """Nobody who reported an absence is asked why they did not come."""
    report(as_("student"), cast)
    with time_machine.travel(datetime(2027, 3, 23, 18, tzinfo=UTC), tick=False):
        page = page_of(as_("coach"), "day", ask="?day=2027-03-23")
        assert "Did not come" not in page
        lesson_tomorrow.status = Appointment.Status.KEPT
        lesson_tomorrow.save()
        assert "<b>free</b>" not in page_of(as_("coach"), "day", ask="?day=2027-03-23")


def test_a_coach_who_no_longer_teaches_reads_no_reason(cast: Cast, as_: Clients, lesson_tomorrow: Appointment) -> None:
    report(as_("student"), cast)
    cast.student.cares.update(until=date(2027, 3, 21))
    page = page_of(as_("coach"), "day", ask="?day=2027-03-23").split("<main")[1]
    assert HEEL not in page and not re.search(r"\bill\b", page)


def test_the_days_take_one_query_for_all_absences(cast: Cast, as_: Clients, lesson_tomorrow: Appointment) -> None:
    client, address = as_("coach"), reverse("week") + "?day=2027-03-23"
    client.get(address)
    counts = []
    for number in range(3):
        student = make_student(f"Student {number}", coach=cast.coach)
        row = Appointment.objects.create(
            coach=cast.coach, starts_at=lesson_tomorrow.starts_at + timedelta(hours=1 + number), made_by=cast.coach.user
        )
        row.students.add(student)
        Absence.objects.create(
            student=student, first_day=date(2027, 3, 23), last_day=date(2027, 3, 23), reported_by=cast.coach.user
        )
        with CaptureQueriesContext(
            connection,
        ) as queries:
            client.get(address)
        counts.append(len(queries))
    assert len(set(counts)) == 1 and counts[0] <= 12
