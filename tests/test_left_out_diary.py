"""What the diary leaves out: rows of other students, coaches, series and days."""

import uuid
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Student
from coachbook.diary.absences.forms import AbsenceForm
from coachbook.diary.calendar.feed import calendar_for, end_link, new_link
from coachbook.diary.models import Absence, Appointment, Series
from tests.conftest import Cast
from tests.make import (
    academy_today,
    make_pause,
)

Clients = Callable[[str], Client]
DAY = timedelta(days=1)
NINE = datetime(2027, 3, 22, 9, tzinfo=UTC)
SAID_NO = {"reason": "busy", "words": ""}


@pytest.fixture(autouse=True)
def spring(cast: Cast) -> Iterator[None]:
    """Monday 22 March 2027 at the academy, nine o'clock."""
    with time_machine.travel(NINE, tick=False):
        yield


def planned(cast: Cast, *students: Student, at: datetime = NINE + DAY, **values: Any) -> Appointment:
    row = Appointment.objects.create(**{"coach": cast.coach, "made_by": cast.manager, "starts_at": at} | values)
    row.students.set(students or [cast.student])
    return row


def absent(student: Student, cast: Cast, day: date, **values: Any) -> Absence:
    about = {"first_day": day, "last_day": day, "reported_by": cast.manager}
    return Absence.objects.create(student=student, **about | values)


def statuses(*rows: Appointment) -> list[str]:
    return [Appointment.objects.get(pk=row.pk).status for row in rows]


# --- Absences -------------------------------------------------------------------------------------


def test_absences_are_those_of_the_student_that_stand_and_are_not_over(cast: Cast, as_: Clients) -> None:
    today = academy_today()
    own = absent(cast.student, cast, today)
    absent(cast.student, cast, today - DAY)
    absent(cast.student, cast, today + DAY, withdrawn_at=timezone.now(), withdrawn_by=cast.manager)
    absent(cast.other_student, cast, today)
    page = as_("student").get(reverse("absences", args=[cast.student.key]))
    assert list(page.context["absences"]) == [own]


def test_only_the_absence_that_is_named_is_withdrawn(cast: Cast, as_: Clients) -> None:
    own, other = (absent(student, cast, academy_today()) for student in (cast.student, cast.other_student))
    for key in (uuid.uuid4(), other.key):
        address = reverse("absence_withdraw", args=[cast.student.key, key])
        assert as_("student").post(address).status_code == 404
    assert Absence.objects.standing().count() == 2
    as_("student").post(reverse("absence_withdraw", args=[cast.student.key, own.key]))
    assert list(Absence.objects.standing()) == [other]


@pytest.mark.parametrize("comes", ["before", "meanwhile"])
def test_the_address_of_an_absence_of_another_student_is_not_there(
    comes: str, cast: Cast, as_: Clients, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Also where the other one is stored after this one was found to be new, and before it is stored."""
    key = uuid.uuid4()

    def other(*_: object) -> None:
        absent(cast.other_student, cast, date(2027, 5, 5), key=key)

    if comes == "before":
        other()
    else:
        monkeypatch.setattr(AbsenceForm, "check_overlap", other)
    address = reverse("absence_report", args=[cast.student.key, key])
    answer = as_("student").post(address, SAID_NO | {"first_day": "2027-03-23", "last_day": ""})
    assert answer.status_code == 404 and Absence.objects.get().student == cast.other_student
    assert "5 May" not in as_("student").get(reverse("absences", args=[cast.student.key])).content.decode()


# --- Appointments ---------------------------------------------------------------------------------


def test_a_day_has_the_appointments_of_that_day_and_that_coach(cast: Cast, as_: Clients) -> None:
    midnight = datetime(2027, 3, 23, tzinfo=UTC)
    own = [planned(cast, at=midnight), planned(cast, at=midnight + DAY - timedelta(minutes=1))]
    for at in (midnight - timedelta(minutes=1), midnight + DAY):
        planned(cast, at=at)
    planned(cast, coach=cast.cover)
    [day] = as_("coach").get(reverse("day"), {"day": "2027-03-23"}).context["days"]
    assert [slot.appointment for slot in day.slots] == own


def in_series(cast: Cast, *students: Student, weeks: int, of: Series | None = None, **values: Any) -> list[Appointment]:
    about = {"rule": f"FREQ=WEEKLY;COUNT={weeks}", "first_at": NINE + DAY, "made_by": cast.manager}
    series = of or Series.objects.create(**about)
    dates = [NINE + DAY + timedelta(weeks=week) for week in range(weeks)]
    return [planned(cast, *students, at=at, series=series, **values) for at in dates]


def test_the_days_of_a_series_are_its_own_to_which_the_student_comes(cast: Cast, as_: Clients) -> None:
    rows = in_series(cast, weeks=2)
    in_series(cast, cast.other_student, weeks=1, of=rows[0].series)
    in_series(cast, weeks=1)
    planned(cast)
    page = as_("coach").get(reverse("appointment", args=[cast.student.key, rows[0].key]))
    assert list(page.context["series"]) == rows


def test_cancelling_all_later_ones_leaves_earlier_ones_kept_ones_and_those_of_others(cast: Cast, as_: Clients) -> None:
    first, second, third, fourth = in_series(cast, weeks=4)
    Appointment.objects.filter(pk=fourth.pk).update(status="kept")
    others = [planned(cast, at=NINE + 20 * DAY), *in_series(cast, cast.other_student, weeks=4)]
    typed = {"status": "cancelled", "later": "1"}
    page = as_("coach").post(reverse("appointment_decide", args=[cast.student.key, second.key]), typed, follow=True)
    assert "cancelled, 2 appointments" in page.content.decode()
    assert statuses(first, second, third, fourth) == ["planned", "cancelled", "cancelled", "kept"]
    assert set(statuses(*others)) == {"planned"}


@pytest.mark.parametrize("name", ["appointment_decide", "series_from_day"])
def test_a_key_that_nothing_or_another_students_appointment_has_changes_nothing(
    name: str, cast: Cast, as_: Clients
) -> None:
    [own], [other] = in_series(cast, weeks=1), in_series(cast, cast.other_student, weeks=1)
    typed = {"status": "cancelled", "coach": cast.coach.pk, "day": "2027-03-30", "time": "10:00", "minutes": "30"}
    for key in (uuid.uuid4(), other.key):
        address = reverse(name, args=[cast.student.key, key])
        assert as_("coach").post(address, typed).status_code == 404
    for row in (own, other):
        before = row.starts_at
        row.refresh_from_db()
        assert (row.status, row.starts_at, row.sequence) == ("planned", before, 0)


def test_an_appointment_outside_of_any_series_is_no_day_from_which_to_move(cast: Cast, as_: Clients) -> None:
    address = reverse("series_from_day", args=[cast.student.key, planned(cast).key])
    assert as_("coach").get(address).status_code == 404


def log_today(cast: Cast, as_: Clients) -> None:
    address = reverse("lesson", args=[cast.student.key, uuid.uuid4()])
    typed = {"day": "2027-03-22", "putting": "on", "keep": "A calm start", "done": "1"}
    assert as_("coach").post(address, typed).status_code == 302


def test_a_finished_log_keeps_no_appointment_of_other_days_students_or_coaches(cast: Cast, as_: Clients) -> None:
    others = [
        planned(cast, at=NINE - DAY),
        planned(cast, at=NINE + DAY),
        planned(cast, cast.other_student, at=NINE),
        planned(cast, at=NINE, coach=cast.cover),
    ]
    cancelled = planned(cast, at=NINE, status="cancelled")
    log_today(cast, as_)
    assert statuses(*others, cancelled) == ["planned"] * 4 + ["cancelled"]


def test_a_finished_log_keeps_the_appointment_of_its_day_beside_others(cast: Cast, as_: Clients) -> None:
    rows = [planned(cast, at=NINE + days * DAY) for days in (-1, 0, 1)]
    log_today(cast, as_)
    assert statuses(*rows) == ["planned", "kept", "planned"]


def plan(cast: Cast, as_: Clients, key: uuid.UUID | None = None, **typed: Any) -> Any:
    values = {"coach": cast.coach.pk, "day": "2027-03-23", "time": "09:00", "minutes": "60", "repeat": "once"} | typed
    return as_("coach").post(reverse("appointment", args=[cast.student.key, key or uuid.uuid4()]), values)


def test_what_concerns_neither_the_coach_nor_the_students_is_no_clash(cast: Cast, as_: Clients) -> None:
    planned(cast, cast.other_student, coach=cast.other_coach)
    for days in (0, 2):
        planned(cast, at=NINE + days * DAY)
    for status in ("cancelled", "kept", "missed"):
        planned(cast, status=status)
    make_pause(cast.other_student, academy_today())
    make_pause(cast.student, academy_today() - 9 * DAY, academy_today() - 2 * DAY)
    make_pause(cast.student, academy_today() + 5 * DAY)
    assert plan(cast, as_).status_code == 302


def test_an_appointment_that_moves_a_little_does_not_clash_with_itself(cast: Cast, as_: Clients) -> None:
    row = planned(cast)
    assert plan(cast, as_, row.key, time="09:30").status_code == 302
    planned(cast, cast.other_student, at=NINE + DAY)
    assert plan(cast, as_, row.key, time="09:15").status_code == 422


# --- Calendar links -------------------------------------------------------------------------------


def test_a_link_of_another_coach_or_one_that_ended_is_no_link(cast: Cast, as_: Clients) -> None:
    new_link(cast.coach, NINE - DAY)
    new_link(cast.cover, NINE - DAY)
    assert as_("coach").get(reverse("calendar")).context["has_link"] is True
    end_link(cast.coach, NINE)
    assert as_("coach").get(reverse("calendar")).context["has_link"] is False


def test_a_token_opens_its_own_calendar_while_it_stands(cast: Cast) -> None:
    """That of another coach stays shut, whichever was made first, and an old one stays shut."""
    old, other = new_link(cast.coach, NINE - DAY), new_link(cast.other_coach, NINE - DAY)
    token = new_link(cast.coach, NINE)
    planned(cast)
    planned(cast, cast.other_student, coach=cast.other_coach, place="Far green")
    for link, status, far in [(token, 200, False), (other, 200, True), (old, 404, False), ("none", 404, False)]:
        answer = Client().get(reverse("calendar_feed", args=[link]))
        assert (answer.status_code, "Far green" in answer.content.decode()) == (status, far)


def test_a_calendar_holds_two_months_back_and_a_year_ahead(cast: Cast) -> None:
    rows = {days: planned(cast, at=NINE + days * DAY) for days in (-61, -59, 399, 401)}
    feed = calendar_for(cast.coach, cast.academy, NINE, "example.org", site="https://example.org/").decode()
    assert [days for days, row in rows.items() if str(row.key) in feed.replace("\r\n ", "")] == [-59, 399]
