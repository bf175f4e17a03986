"""Appointments: single and in series, warnings before they are saved, and their status."""

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

from coachbook.accounts.models import Student
from coachbook.diary.models import Appointment
from coachbook.diary.scheduling import Plan, create_appointments
from lessons.models import Lesson
from tests.conftest import Cast
from tests.make import make_lesson, make_pause, make_student

Clients = Callable[[str], Client]


@pytest.fixture(autouse=True)
def spring(cast: Cast) -> object:
    """Monday 22 March 2027 at the academy; the clocks go forward on the Sunday after."""
    with time_machine.travel(datetime(2027, 3, 22, 9, tzinfo=UTC), tick=False):
        yield


def typed(cast: Cast, **values: object) -> dict[str, object]:
    usual = {"coach": cast.coach.pk, "day": "2027-03-23", "time": "16:00", "minutes": "60", "repeat": "once"}
    return {**usual, **values}


def plan(client: Client, cast: Cast, student: Student | None = None, key: uuid.UUID | None = None, **values: object):
    address = reverse("appointment", args=[(student or cast.student).key, key or uuid.uuid4()])
    return client.post(address, typed(cast, **values))


def decide(client: Client, cast: Cast, row: Appointment, **values: str) -> str:
    """The page on which somebody stands after saying what became of an appointment."""
    address = reverse("appointment_decide", args=[cast.student.key, row.key])
    return unescape(client.post(address, values, follow=True).content.decode())


def test_an_appointment_is_planned_and_shown_in_the_day_and_the_week(cast: Cast, as_: Clients) -> None:
    assert plan(as_("coach"), cast, place="The long green").status_code == 302
    row = Appointment.objects.get()
    assert row.starts_at == datetime(2027, 3, 23, 16, tzinfo=UTC) and row.made_by == cast.coach.user
    for address in ("/diary/?day=2027-03-23", "/diary/week/?day=2027-03-25"):
        page = as_("coach").get(address).content.decode()
        assert "Alder Quimble" in page and "16:00–17:00" in page and "The long green" in page
    assert "Nothing planned" in as_("coach").get("/diary/").content.decode()


def test_the_student_and_the_guardian_read_when_they_meet_next(cast: Cast, as_: Clients) -> None:
    plan(as_("coach"), cast, place="The long green")
    for actor in ("student", "guardian"):
        for name in ("student", "today"):
            page = as_(actor).get(reverse(name, args=[cast.student.key])).content.decode()
            assert "Tuesday 23 March, 16:00, The long green, with Ida Fernkettle" in page


def test_sent_twice_it_is_one(cast: Cast, as_: Clients) -> None:
    key = uuid.uuid4()
    plan(as_("coach"), cast, key=key)
    plan(as_("coach"), cast, key=key)
    assert Appointment.objects.count() == 1


def test_a_weekly_series_keeps_its_time_of_day_when_the_clocks_go_forward(cast: Cast, as_: Clients) -> None:
    assert plan(as_("coach"), cast, repeat="weekly", times="3").status_code == 302
    assert [row.starts_at for row in Appointment.objects.order_by("starts_at")] == [
        datetime(2027, 3, 23, 16, tzinfo=UTC),
        datetime(2027, 3, 30, 15, tzinfo=UTC),
        datetime(2027, 4, 6, 15, tzinfo=UTC),
    ]
    page = as_("coach").get("/diary/?day=2027-03-30").content.decode()
    assert "16:00–17:00" in page


def test_every_second_week_until_a_day(cast: Cast, as_: Clients) -> None:
    plan(as_("coach"), cast, repeat="fortnightly", until="2027-04-20")
    days = [timezone.localdate(row.starts_at) for row in Appointment.objects.order_by("starts_at")]
    assert days == [date(2027, 3, 23), date(2027, 4, 6), date(2027, 4, 20)]


@pytest.mark.parametrize(
    ("values", "message"),
    [
        ({"day": "2027-03-21"}, "This time has passed"),
        ({"day": "2029-03-21"}, "within a year"),
        ({"day": "soon"}, "Type a day"),
        ({"day": ""}, "Choose a day"),
        ({"time": "late"}, "Type a time"),
        ({"minutes": "600"}, "240"),
        ({"day": "2027-03-28", "time": "01:30"}, "does not exist"),
        ({"repeat": "weekly"}, "Type how many times"),
        ({"repeat": "weekly", "times": "3", "until": "2027-05-04"}, "not both"),
        ({"repeat": "weekly", "until": "2027-03-25"}, "before the second"),
        ({"repeat": "weekly", "until": "2027-03-01"}, "before the first"),
        ({"repeat": "weekly", "until": "0001-01-01"}, "before the first"),
        ({"repeat": "weekly", "times": "61"}, "60"),
        ({"repeat": "weekly", "until": "2029-01-01"}, "within a year at most"),
    ],
)
def test_an_invalid_value_says_why_and_keeps_the_rest(
    values: dict[str, str], message: str, cast: Cast, as_: Clients
) -> None:
    answer = plan(as_("coach"), cast, place="The far corner", **values)
    page = answer.content.decode()
    assert answer.status_code == 422 and message in page and "The far corner" in page
    assert not Appointment.objects.exists()


def test_a_series_says_on_which_day_its_time_does_not_exist(cast: Cast, as_: Clients) -> None:
    with time_machine.travel(datetime(2027, 3, 15, 9, tzinfo=UTC), tick=False):
        answer = plan(as_("coach"), cast, day="2027-03-21", time="01:30", repeat="weekly", times="2")
    assert answer.status_code == 422 and "On Sunday 28 March 2027 the clocks go forward" in answer.content.decode()


@pytest.mark.parametrize("whose", ["coach", "student"])
def test_a_clash_is_reported_and_can_be_saved_anyway(whose: str, cast: Cast, as_: Clients) -> None:
    other = make_student("Fern Larchreed", coach=cast.coach)
    plan(as_("coach"), cast, student=other if whose == "coach" else cast.student)
    answer = plan(as_("coach"), cast, time="16:30")
    page = answer.content.decode()
    assert answer.status_code == 422 and "Tuesday 23 March 2027 at 16:00" in page and "Save it anyway" in page
    assert plan(as_("coach"), cast, time="17:00").status_code == 302, "one after the other is no clash"
    assert plan(as_("coach"), cast, time="16:30", anyway="on").status_code == 302


def test_a_cancelled_appointment_is_no_clash(cast: Cast, as_: Clients) -> None:
    plan(as_("coach"), cast)
    row = Appointment.objects.get()
    as_("coach").post(reverse("appointment_decide", args=[cast.student.key, row.key]), {"status": "cancelled"})
    assert plan(as_("coach"), cast).status_code == 302


def test_a_pause_is_reported(cast: Cast, as_: Clients) -> None:
    make_pause(cast.student, date(2027, 4, 1), date(2027, 4, 10), reason="exams")
    answer = plan(as_("coach"), cast, repeat="weekly", times="4")
    assert answer.status_code == 422
    assert "Alder Quimble is pausing from Thursday 1 April 2027" in answer.content.decode()
    assert plan(as_("coach"), cast, repeat="weekly", times="4", anyway="on").status_code == 302
    assert plan(as_("coach"), cast, day="2027-04-12").status_code == 302


def test_moving_one_of_a_series_leaves_the_others(cast: Cast, as_: Clients) -> None:
    plan(as_("coach"), cast, repeat="weekly", times="2")
    first, second = Appointment.objects.order_by("starts_at")
    address = reverse("appointment", args=[cast.student.key, first.key])
    assert "2027-03-23" in as_("coach").get(address).content.decode()
    assert as_("coach").post(address, typed(cast, day="2027-03-24")).status_code == 302
    first.refresh_from_db()
    assert first.starts_at == datetime(2027, 3, 24, 16, tzinfo=UTC) and first.sequence == 1
    assert Appointment.objects.get(pk=second.pk).starts_at == second.starts_at


@pytest.mark.parametrize(("later", "planned"), [(False, 2), (True, 1)])
def test_cancelling_one_or_this_and_all_later(later: bool, planned: int, cast: Cast, as_: Clients) -> None:
    plan(as_("coach"), cast, repeat="weekly", times="3")
    second = Appointment.objects.order_by("starts_at")[1]
    values = {"status": "cancelled"} | ({"later": "1"} if later else {})
    as_("coach").post(reverse("appointment_decide", args=[cast.student.key, second.key]), values)
    assert Appointment.objects.planned().count() == planned


def test_only_to_cancel_means_all_later_ones(cast: Cast, as_: Clients) -> None:
    plan(as_("coach"), cast, repeat="weekly", times="3")
    first = Appointment.objects.order_by("starts_at")[0]
    with time_machine.travel(first.ends_at, tick=False):
        decide(as_("coach"), cast, first, status="kept", later="1")
    assert Appointment.objects.planned().count() == 2


def test_moving_leaves_those_in_it_whom_the_coach_no_longer_teaches(cast: Cast, as_: Clients) -> None:
    left, stays = (make_student(name, coach=cast.coach) for name in ("Fern Larchreed", "Jory Tambrel"))
    plan(as_("coach"), cast, others=[left.pk, stays.pk])
    row = Appointment.objects.get()
    left.cares.all().delete()
    address = reverse("appointment", args=[cast.student.key, row.key])
    assert "Larchreed" not in as_("coach").get(address).content.decode()
    assert as_("coach").post(address, typed(cast, day="2027-03-25")).status_code == 302
    assert set(row.students.all()) == {cast.student, left}, "who is offered can be left out, nobody else"


def test_a_second_coach_who_moves_it_does_not_take_it_over(cast: Cast, as_: Clients) -> None:
    plan(as_("coach"), cast)
    row = Appointment.objects.get()
    address = reverse("appointment", args=[cast.student.key, row.key])
    chosen = f'<option value="{cast.coach.pk}" selected>'
    assert chosen in as_("cover").get(address).content.decode()
    assert as_("cover").post(address, typed(cast, day="2027-03-25")).status_code == 302
    row.refresh_from_db()
    assert (row.coach, row.changed_by) == (cast.coach, cast.cover.user)


@pytest.mark.parametrize("status", ["kept", "missed", "cancelled"])
def test_only_a_planned_appointment_moves(status: str, cast: Cast, as_: Clients) -> None:
    plan(as_("coach"), cast)
    row = Appointment.objects.get()
    with time_machine.travel(row.ends_at, tick=False):
        decide(as_("coach"), cast, row, status=status)
        answer = plan(as_("coach"), cast, key=row.key, day="2027-03-25", place="The far corner")
    page = answer.content.decode()
    assert answer.status_code == 422 and "Plan it again first" in page and "The far corner" in page
    assert Appointment.objects.get().starts_at == row.starts_at


def test_history_says_who_set_the_status(cast: Cast, as_: Clients) -> None:
    plan(as_("coach"), cast)
    row = Appointment.objects.get()
    with time_machine.travel(row.ends_at, tick=False):
        decide(as_("cover"), cast, row, status="missed")
    row.refresh_from_db()
    assert (row.status, row.changed_by) == ("missed", cast.cover.user)
    assert (
        as_("cover")
        .post(reverse("appointment_decide", args=[cast.student.key, row.key]), {"status": "eaten"})
        .status_code
        == 302
    )
    row.refresh_from_db()
    assert row.status == "missed"


@pytest.mark.parametrize("status", ["kept", "missed"])
def test_nobody_says_of_an_appointment_to_come_whether_it_was_kept(status: str, cast: Cast, as_: Clients) -> None:
    plan(as_("coach"), cast)
    row = Appointment.objects.get()
    assert "begins on Tuesday 23 March at 16:00" in decide(as_("coach"), cast, row, status=status)
    row.refresh_from_db()
    assert row.status == "planned"
    day = as_("coach").get("/diary/?day=2027-03-23").content.decode()
    assert f'value="{status}"' not in day and 'value="cancelled"' in day
    with time_machine.travel(row.starts_at, tick=False):
        assert f'value="{status}"' in as_("coach").get("/diary/?day=2027-03-23").content.decode()
        decide(as_("coach"), cast, row, status=status)
    row.refresh_from_db()
    assert row.status == status


def test_an_appointment_to_come_is_cancelled_and_planned_again(cast: Cast, as_: Clients) -> None:
    plan(as_("coach"), cast)
    for status in ("cancelled", "planned"):
        decide(as_("coach"), cast, Appointment.objects.get(), status=status)
        assert Appointment.objects.get().status == status


# --- The days of a series -----------------------------------------------------------------------

FOUR_DAYS = "4 lessons on Tuesdays at 16:00: 23 and 30 March; 6 and 13 April 2027."


def test_a_series_says_all_its_days_before_it_is_saved(cast: Cast, as_: Clients) -> None:
    answer = plan(as_("coach"), cast, repeat="weekly", times="4", show="1", place="The far corner")
    page = answer.content.decode()
    assert answer.status_code == 200 and FOUR_DAYS in page and "The far corner" in page
    assert not Appointment.objects.exists()


def test_its_days_follow_what_is_typed(cast: Cast, as_: Clients) -> None:
    """With a script the days alone are asked for; while something is missing there are none to say."""
    address = reverse("appointment", args=[cast.student.key, uuid.uuid4()])
    for values, days in (({"times": "4"}, FOUR_DAYS), ({}, ""), ({"times": "61"}, ""), ({"day": ""}, "")):
        posted = typed(cast, repeat="weekly", show="1", **values)
        answer = as_("coach").post(address, posted, headers={"HX-Request": "true"})
        found = re.sub(r"<[^>]+>", "", answer.content.decode()).strip()
        assert (answer.status_code, found) == (200, days)


def test_a_warning_about_a_series_says_all_its_days(cast: Cast, as_: Clients) -> None:
    make_pause(cast.student, date(2027, 4, 1), date(2027, 4, 10), reason="exams")
    answer = plan(as_("coach"), cast, repeat="weekly", times="4")
    assert answer.status_code == 422 and FOUR_DAYS in answer.content.decode()


def test_a_series_that_was_saved_says_all_its_days(cast: Cast, as_: Clients) -> None:
    address = reverse("appointment", args=[cast.student.key, uuid.uuid4()])
    page = as_("coach").post(address, typed(cast, repeat="weekly", times="4"), follow=True).content.decode()
    assert f"Planned {FOUR_DAYS}" in page


def test_an_appointment_of_a_series_shows_the_others(cast: Cast, as_: Clients) -> None:
    plan(as_("coach"), cast, repeat="weekly", times="3")
    first, second, third = Appointment.objects.order_by("starts_at")
    plan(as_("coach"), cast, key=second.key, day="2027-03-31", time="10:00")
    decide(as_("coach"), cast, third, status="cancelled")
    page = as_("coach").get(reverse("appointment", args=[cast.student.key, first.key])).content.decode()
    listed = re.findall(r"<li>(.*?)</li>", page[page.index("Days of the series") :], re.DOTALL)
    assert [" ".join(re.sub(r"<[^>]+>", "", row).split()) for row in listed] == [
        "Tuesday 23 March 2027, 16:00 this one",
        "Wednesday 31 March 2027, 10:00",
        "Tuesday 6 April 2027, 16:00 cancelled",
    ]


def test_the_days_of_a_series_over_two_years(cast: Cast, as_: Clients) -> None:
    words = plan(as_("coach"), cast, day="2027-12-21", repeat="fortnightly", times="4", show="1").content.decode()
    assert "4 lessons on Tuesdays at 16:00: 21 December 2027; 4 and 18 January; 1 February 2028." in words


def test_twenty_make_a_group_and_one_more_is_refused(cast: Cast, as_: Clients) -> None:
    others = [make_student(coach=cast.coach, account=False) for _ in range(20)]
    answer = plan(as_("coach"), cast, others=[student.pk for student in others], place="The far corner")
    assert answer.status_code == 422 and "20 students at most" in answer.content.decode()
    assert plan(as_("coach"), cast, others=[student.pk for student in others[:19]]).status_code == 302
    assert Appointment.objects.get().students.count() == 20


def test_a_coach_plans_only_with_those_they_teach_and_a_manager_for_any_coach(cast: Cast, as_: Clients) -> None:
    assert plan(as_("coach"), cast, others=[cast.other_student.pk]).status_code == 422
    assert plan(as_("cover"), cast, coach=cast.coach.pk).status_code == 422
    assert plan(as_("manager"), cast).status_code == 302
    assert plan(as_("other_coach"), cast).status_code == 404
    assert plan(as_("student"), cast).status_code == 403


def test_an_appointment_of_another_student_is_a_404(cast: Cast, as_: Clients) -> None:
    plan(as_("coach"), cast)
    row = Appointment.objects.get()
    assert plan(as_("manager"), cast, student=cast.other_student, key=row.key).status_code == 404


def test_a_coach_sees_their_own_days_and_a_manager_everybodys(cast: Cast, as_: Clients) -> None:
    plan(as_("coach"), cast)
    address = "/diary/?day=2027-03-23"
    assert "Alder Quimble" not in as_("cover").get(f"{address}&coach={cast.coach.user.key}").content.decode()
    assert "Alder Quimble" in as_("manager").get(f"{address}&coach={cast.coach.user.key}").content.decode()
    assert as_("manager").get(f"{address}&coach={uuid.uuid4()}").status_code == 404


@pytest.mark.parametrize("day", ["", "yesterday", "2027-02-30", "0001-01-01"])
def test_a_day_that_is_none_shows_today(day: str, as_: Clients) -> None:
    for name in ("day", "week"):
        answer = as_("coach").get(reverse(name), {"day": day})
        assert answer.status_code == 200 and "22 March 2027" in answer.content.decode()


def test_a_finished_log_keeps_the_appointment(cast: Cast, as_: Clients) -> None:
    plan(as_("coach"), cast, day="2027-03-22")
    address = reverse("lesson", args=[cast.student.key, uuid.uuid4()])
    as_("coach").post(address, {"day": "2027-03-22", "putting": "on", "keep": "A calm start", "done": "1"})
    assert Appointment.objects.get().status == "kept"


def test_a_finished_log_keeps_one_appointment_of_several_that_day(cast: Cast, as_: Clients) -> None:
    for time in ("10:00", "12:00", "16:00"):
        plan(as_("coach"), cast, day="2027-03-22", time=time)
    with time_machine.travel(datetime(2027, 3, 22, 13, 5, tzinfo=UTC), tick=False):
        address = reverse("lesson", args=[cast.student.key, uuid.uuid4()])
        as_("coach").post(address, {"day": "2027-03-22", "putting": "on", "keep": "A calm start", "done": "1"})
    assert [row.status for row in Appointment.objects.order_by("starts_at")] == ["planned", "kept", "planned"]


def test_a_clip_that_is_looked_at_keeps_no_appointment(cast: Cast, as_: Clients) -> None:
    plan(as_("coach"), cast, day="2027-03-22")
    address = reverse("lesson", args=[cast.student.key, uuid.uuid4()]) + "?kind=clip"
    typed_log = {"day": "2027-03-22", "filmed_on": "2027-03-21", "putting": "on", "keep": "Calm", "done": "1"}
    as_("coach").post(address, typed_log)
    assert Lesson.objects.get().status == "complete" and Appointment.objects.get().status == "planned"


def test_the_next_lesson_is_offered_a_week_later_at_the_same_time(cast: Cast, as_: Clients) -> None:
    lesson = make_lesson(cast.student, cast.coach)
    lesson.session.starts_at = datetime(2027, 3, 22, 8, 3, tzinfo=UTC)
    lesson.session.save()
    redirect = as_("coach").get(reverse("appointment_new", args=[cast.student.key]), {"from": str(lesson.key)})
    page = as_("coach").get(redirect.url).content.decode()
    assert 'value="2027-03-29"' in page and 'value="08:00"' in page


def test_a_group_needs_a_student(cast: Cast) -> None:
    moment = timezone.now() + timedelta(days=1)
    plan = Plan(cast.coach, [], [moment], 60, "")
    with pytest.raises(Exception, match="From 1 to 20"):
        create_appointments(key=uuid.uuid4(), plan=plan, by=cast.coach.user, at=timezone.now())


def test_the_day_costs_as_many_queries_for_ten_as_for_two(cast: Cast, as_: Clients) -> None:
    def cost() -> int:
        with CaptureQueriesContext(connection) as queries:
            as_("coach").get("/diary/?day=2027-03-23")
        return len(queries)

    for hour in (8, 9):
        plan(as_("coach"), cast, student=make_student(coach=cast.coach), time=f"{hour:02}:00")
    two = cost()
    for hour in range(10, 18):
        plan(as_("coach"), cast, student=make_student(coach=cast.coach), time=f"{hour:02}:00")
    assert cost() == two <= 12
