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
from coachbook.diary.calendar.practice_days import expected_days
from coachbook.diary.models import Absence, Appointment, Series
from drills.models import Prescription
from lessons.models import Focus
from tests.conftest import Cast
from tests.make import academy_today, make_care, make_guardian, make_lesson, make_pause, make_prescription

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


def test_a_lesson_is_free_if_its_own_students_cannot_come_that_day(cast: Cast, as_: Clients) -> None:
    """On the day, on the student's page and in both calendars: not for another student, another day or a withdrawal."""
    planned(cast)
    tomorrow = academy_today() + DAY
    absent(cast.other_student, cast, tomorrow)
    absent(cast.student, cast, tomorrow, withdrawn_at=timezone.now(), withdrawn_by=cast.manager)
    for day in (tomorrow - DAY, tomorrow + DAY):
        absent(cast.student, cast, day)
    links = {who: reverse("calendar_feed", args=[new_link(who, NINE)]) for who in (cast.coach, cast.guardian)}

    def told() -> list[bool]:
        pages = [
            as_("coach").get(reverse("day"), {"day": "2027-03-23"}),
            as_("coach").get(reverse("week"), {"day": "2027-03-23"}),
            as_("guardian").get(reverse("student", args=[cast.student.key])),
        ]
        words = [page.content.decode() for page in pages]
        feeds = [Client().get(link).content.decode() for link in links.values()]
        return [
            "<b>free</b>" in words[0],
            "<b>free</b>" in words[1],
            "Reported:" in words[2],
            *("TRANSPARENT" in feed for feed in feeds),
        ]

    assert told() == [False] * 5
    absent(cast.student, cast, tomorrow)
    assert told() == [True] * 5


# --- Appointments ---------------------------------------------------------------------------------


def test_a_day_has_the_appointments_of_that_day_and_that_coach(cast: Cast, as_: Clients) -> None:
    midnight = datetime(2027, 3, 23, tzinfo=UTC)
    own = [planned(cast, at=midnight), planned(cast, at=midnight + DAY - timedelta(minutes=1))]
    for at in (midnight - timedelta(minutes=1), midnight + DAY):
        planned(cast, at=at)
    planned(cast, coach=cast.cover)
    [day] = as_("coach").get(reverse("day"), {"day": "2027-03-23"}).context["days"]
    assert [slot.appointment for slot in day.slots] == own


def in_series(
    cast: Cast, *students: Student, weeks: int, of: Series | None = None, at_hour: int = 0
) -> list[Appointment]:
    about = {"rule": f"FREQ=WEEKLY;COUNT={weeks}", "first_at": NINE + DAY, "made_by": cast.manager}
    series = of or Series.objects.create(**about)
    dates = [NINE + DAY + timedelta(weeks=week, hours=at_hour) for week in range(weeks)]
    return [planned(cast, *students, at=at, series=series) for at in dates]


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


def test_a_coach_plans_for_themselves_and_an_appointment_keeps_its_coach(cast: Cast, as_: Clients) -> None:
    of_cover, other = planned(cast, coach=cast.cover), planned(cast, cast.other_student)
    for key, coaches in [(uuid.uuid4(), {cast.coach}), (of_cover.key, {cast.coach, cast.cover})]:
        page = as_("coach").get(reverse("appointment", args=[cast.student.key, key]))
        assert set(page.context["form"].fields["coach"].queryset) == coaches
    assert as_("coach").get(reverse("appointment", args=[cast.student.key, other.key])).status_code == 404


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


def test_what_the_student_or_the_coach_has_with_others_at_that_time_is_a_clash(cast: Cast, as_: Clients) -> None:
    for student, coach in [(cast.student, cast.cover), (cast.other_student, cast.coach)]:
        row = planned(cast, student, coach=coach)
        assert plan(cast, as_).status_code == 422
        row.delete()
    assert plan(cast, as_).status_code == 302


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


def test_a_link_that_travels_as_plain_text_is_refused_where_the_site_asks_for_https(cast: Cast, settings: Any) -> None:
    settings.SECURE_SSL_REDIRECT, settings.SECURE_REDIRECT_EXEMPT = True, ["^calendar/"]  # as in production
    address = reverse("calendar_feed", args=[new_link(cast.coach, NINE)])
    assert [Client().get(address, secure=secure).status_code for secure in (False, True)] == [403, 200]


def test_a_calendar_holds_two_months_back_and_a_year_ahead(cast: Cast) -> None:
    rows = {days: planned(cast, at=NINE + days * DAY) for days in (-61, -59, 399, 401)}
    feed = calendar_for(cast.coach, cast.academy, NINE, "example.org", site="https://example.org/").decode()
    assert [days for days, row in rows.items() if str(row.key) in feed.replace("\r\n ", "")] == [-59, 399]


def given(student: Student, cast: Cast, **values: Any) -> Prescription:
    """A drill of every day, from today on."""
    coach = student.cares.get(role="main").coach
    lesson = make_lesson(student, coach, status="complete", completed_at=timezone.now())
    focus = Focus.objects.create(student=student, opened_in=lesson, slot=1, area="putting", what="Soft hands")
    return make_prescription(lesson, focus, **{"begins": academy_today(), "per_week": 7, "days": 3} | values)


def test_practice_days_are_of_drills_in_force_and_what_was_reported_of_them(cast: Cast) -> None:
    """Neither another student's drills, pauses and absences, nor what was taken back or is long over, count."""
    today = academy_today()

    def days() -> list[date]:
        return expected_days([cast.student], today, today + 9 * DAY)[cast.student.pk]

    other = given(cast.other_student, cast, days=9)
    over = given(cast.student, cast, ended_on=today - DAY, begins=today - 9 * DAY, days=30)
    assert days() == []
    over.focus.closed_in = over.lesson
    over.focus.save()
    drill = given(cast.student, cast)
    make_pause(cast.other_student, today)
    make_pause(cast.student, today - 9 * DAY, today - DAY)
    absent(cast.other_student, cast, today, reason="ill")
    absent(cast.student, cast, today, reason="ill", withdrawn_at=timezone.now(), withdrawn_by=cast.manager)
    for row, values in [(other, {}), (drill, {"is_void": True}), (drill, {"day": today - 7 * DAY})]:
        row.entries.create(**{"day": today, "amount": 5} | values)
    assert days() == [today + number * DAY for number in range(7)], "the whole week in which it ends"
    drill.entries.create(day=today, amount=5)
    assert today not in days()


def test_a_familys_calendar_is_of_that_family_and_names_nobody_else(cast: Cast) -> None:
    together = planned(cast, cast.student, cast.other_student)
    apart = planned(cast, cast.other_student)
    early, late = (planned(cast, at=NINE + days * DAY) for days in (-61, 401))
    theirs = make_guardian("Wenna Larkspindle", cast.other_student)
    old, link, others = new_link(cast.guardian, NINE - DAY), new_link(cast.guardian, NINE), new_link(theirs, NINE)
    feeds = [Client().get(reverse("calendar_feed", args=[token])) for token in (link, others, old)]
    assert [feed.status_code for feed in feeds] == [200, 200, 404]
    own, other = (feed.content.decode().replace("\r\n ", "") for feed in feeds[:2])
    found = [[str(row.key) in text for row in (together, apart, early, late)] for text in (own, other)]
    assert found == [[True, False, False, False], [True, True, False, False]]
    assert "P.S." not in own and "A.Q." not in other
    type(theirs).objects.filter(pk=theirs.pk).update(is_active=False)
    assert Client().get(reverse("calendar_feed", args=[others])).status_code == 404


# --- What acts make of appointments ---------------------------------------------------------------


def test_a_closed_account_touches_its_own_lessons_and_gets_back_its_own(cast: Cast, as_: Clients) -> None:
    """Of two coaches who are closed and opened again, each has the lessons that their own closing cancelled."""
    own, theirs = planned(cast, cast.other_student), planned(cast, cast.other_student, coach=cast.past_coach)
    begun, cancelled = planned(cast, at=NINE - DAY), planned(cast, cast.other_student, status="cancelled")
    make_care(cast.coach, cast.other_student, role="cover")
    make_care(cast.past_coach, cast.other_student, role="cover")
    for coach in (cast.coach, cast.past_coach):
        address = reverse("person_close", args=[coach.user.key])
        touched = as_("manager").get(address).context["follow"].touched
        assert [row.appointment for row in touched] == [own if coach == cast.coach else theirs]
        typed = {"seen": [row.seen for row in touched], "appointments": "cancel"}
        assert as_("manager").post(address, typed).status_code == 302
    assert statuses(own, theirs, begun) == ["cancelled", "cancelled", "planned"]
    as_("manager").post(reverse("person_reopen", args=[cast.coach.user.key]))
    assert statuses(own, theirs, cancelled) == ["planned", "cancelled", "cancelled"]


def test_moving_a_series_from_a_day_moves_no_other_series(cast: Cast, as_: Clients) -> None:
    first, second, third = in_series(cast, weeks=3)
    others = in_series(cast, weeks=3, at_hour=2)
    typed = {"coach": cast.coach.pk, "day": "2027-03-31", "time": "09:00", "minutes": "60", "by_hand": "move"}
    answer = as_("coach").post(reverse("series_from_day", args=[cast.student.key, second.key]), typed)
    assert answer.status_code == 302
    moved = [Appointment.objects.get(pk=row.pk).starts_at - row.starts_at for row in (first, second, third, *others)]
    assert [bool(by) for by in moved] == [False, True, True, False, False, False]
