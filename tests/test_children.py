"""Where a guardian begins: each child with the next lesson, the practice of a week and what they work on."""

from collections.abc import Callable
from datetime import timedelta
from html import unescape
from zoneinfo import ZoneInfo

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Guardianship, Student
from coachbook.diary.models import Absence, Appointment
from drills.models import PracticeEntry
from lessons.models import Focus
from tests.conftest import Cast
from tests.crawl import Reader
from tests.make import academy_today, make_fault, make_lesson, make_prescription, make_skill, make_student

Clients = Callable[[str], Client]
pytestmark = pytest.mark.one_database


def cards(client: Client) -> dict[str, str]:
    """What stands on the page of each child, by name."""
    html = unescape(client.get("/", follow=True).content.decode())
    parts = html.split('aria-labelledby="child-')[1:]
    found = {}
    for part in parts:
        text = Reader(part.split("</section>")[0].split(">", 1)[1]).text
        name = part.split("</a>")[0].rsplit(">", 1)[1]
        found[name] = text
    return found


def book(cast: Cast, student: Student, days: int) -> Appointment:
    row = Appointment.objects.create(
        coach=cast.coach, starts_at=timezone.now() + timedelta(days=days), place="Top green", made_by=cast.manager
    )
    row.students.add(student)
    return row


def test_a_guardian_sees_each_child_at_a_glance(cast: Cast, as_: Clients) -> None:
    sister = make_student("Hazel Quimble", birth_year=2015)
    Guardianship.objects.create(guardian=cast.guardian, student=sister)
    lesson = make_lesson(cast.student, cast.coach, days_ago=9, status="complete", completed_at=timezone.now())
    fault = make_fault(make_skill(), name="Jabs at it", goal="A smooth stroke")
    focus = Focus.objects.create(student=cast.student, opened_in=lesson, slot=1, area="putting", fault=fault)
    given = make_prescription(lesson, focus)
    today = academy_today()
    for days in (0, 0, 3, 6, 7):
        PracticeEntry.objects.create(prescription=given, day=today - timedelta(days=days), amount=5)
    PracticeEntry.objects.create(prescription=given, day=today - timedelta(days=2), amount=5, is_void=True)
    book(cast, cast.student, 9)
    soon = book(cast, cast.student, 2)
    found = cards(as_("guardian"))
    assert list(found) == ["Alder Quimble", "Hazel Quimble"]
    alder, hazel = found.values()
    assert "reported on 3 of the last 7 days" in alder and "A smooth stroke" in alder and "Jabs" not in alder
    at = soon.starts_at.astimezone(ZoneInfo(cast.academy.time_zone))
    assert f"{at:%H:%M}" in alder and "Top green, with Ida Fernkettle" in alder
    assert "none is booked" in hazel and "nothing reported in the last 7 days" in hazel
    day = cast.academy.today(soon.starts_at)
    Absence.objects.create(student=cast.student, first_day=day, last_day=day, reason="ill", reported_by=cast.guardian)
    assert "Reported: ill." in cards(as_("guardian"))["Alder Quimble"]


def test_everything_of_a_child_is_one_tap_away(cast: Cast, as_: Clients) -> None:
    page = as_("guardian").get("/", follow=True).content.decode()
    for name in ("student", "today", "absences", "messages", "consents"):
        assert f'href="{reverse(name, args=[cast.student.key])}' in page, name


def test_more_children_ask_no_more_of_the_database(cast: Cast, as_: Clients) -> None:
    client, counts = as_("guardian"), []
    for number in range(3):
        child = make_student(f"Child {number}", birth_year=2015)
        Guardianship.objects.create(guardian=cast.guardian, student=child)
        book(cast, child, 2)
        with CaptureQueriesContext(connection) as queries:
            client.get(reverse("students"))
        counts.append(len(queries))
    assert counts[1] == counts[2] <= 12, counts


def test_coaches_keep_their_list(cast: Cast, as_: Clients) -> None:
    assert 'aria-labelledby="child-' not in as_("coach").get(reverse("students")).content.decode()
