"""A series moved or ended from one of its days on: earlier lessons stay, and what was done by hand is said."""

import re
import uuid
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Academy
from coachbook.diary.calendar.feed import calendar_for
from coachbook.diary.models import Appointment, Series
from coachbook.diary.scheduling import Plan, create_appointments
from tests.conftest import Cast
from tests.make import make_pause, make_student

Clients = Callable[[str], Client]
DUBLIN = ZoneInfo("Europe/Dublin")


@pytest.fixture(autouse=True)
def winter(cast: Cast) -> object:
    """Monday 1 March 2027; the clocks go forward on Sunday 28 March."""
    with time_machine.travel(datetime(2027, 3, 1, 9, tzinfo=UTC), tick=False):
        yield


@pytest.fixture
def series(cast: Cast) -> list[Appointment]:
    """Six Tuesdays at 16:00, from 2 March to 6 April."""
    moments = [datetime(2027, 3, 2, 16, tzinfo=DUBLIN) + timedelta(days=7 * week) for week in range(6)]
    moments = [moment.astimezone(UTC) for moment in moments]
    plan = Plan(cast.coach, [cast.student], moments, 60, "The green", "FREQ=WEEKLY;INTERVAL=1;COUNT=6")
    first = create_appointments(key=uuid.uuid4(), plan=plan, by=cast.coach.user, at=timezone.now())
    return list(first.series.appointments.order_by("starts_at"))


def address(cast: Cast, row: Appointment) -> str:
    return reverse("series_from_day", args=[cast.student.key, row.key])


def typed(cast: Cast, day: str, at: str = "17:30", **values: Any) -> dict[str, Any]:
    return {"coach": cast.coach.pk, "day": day, "time": at, "minutes": "45", "place": "Bunker", **values}


def times(rows: list[Appointment]) -> list[str]:
    for row in rows:
        row.refresh_from_db()
    return [f"{row.starts_at.astimezone(DUBLIN):%a %d %b %H:%M}" for row in rows]


def test_this_and_all_later_lessons_move_and_earlier_ones_stay(
    cast: Cast, as_: Clients, series: list[Appointment]
) -> None:
    """From the third Tuesday on Wednesdays at 17:30: the time of day stays when the clocks change."""
    answer = as_("coach").post(address(cast, series[2]), typed(cast, "2027-03-17"), follow=True)
    assert "Moved 4 lessons. Earlier ones stay as they were." in answer.content.decode()
    early, late = ["Tue 02 Mar 16:00", "Tue 09 Mar 16:00"], ["Wed 17 Mar 17:30", "Wed 24 Mar 17:30"]
    assert times(series) == [*early, *late, "Wed 31 Mar 17:30", "Wed 07 Apr 17:30"]
    assert [(row.minutes, row.place, row.sequence) for row in series[1:3]] == [(60, "The green", 0), (45, "Bunker", 1)]
    text = calendar_for(cast.coach, Academy.current(), timezone.now(), "x.test", site="https://x.test/").decode()
    assert all(f"UID:{row.key}@x.test" in text for row in series) and text.count("SEQUENCE:1") == 4


def test_from_then_on_it_is_a_series_of_its_own(cast: Cast, as_: Clients, series: list[Appointment]) -> None:
    """Moving again from its second lesson on goes by the new day; ending it leaves the first part alone."""
    as_("coach").post(address(cast, series[2]), typed(cast, "2027-03-17"))
    as_("coach").post(address(cast, series[3]), typed(cast, "2027-03-26"))
    assert times(series)[2:] == ["Wed 17 Mar 17:30", "Fri 26 Mar 17:30", "Fri 02 Apr 17:30", "Fri 09 Apr 17:30"]
    rules = Series.objects.order_by("pk").values_list("rule", flat=True)
    assert list(rules) == [f"FREQ=WEEKLY;INTERVAL=1;COUNT={count}" for count in (6, 4, 3)]
    end = reverse("appointment_decide", args=[cast.student.key, series[4].key])
    as_("coach").post(end, {"status": "cancelled", "later": "1"})
    times(series)
    assert [row.status for row in series] == ["planned"] * 4 + ["cancelled"] * 2


def test_the_same_page_posted_twice_moves_once(cast: Cast, as_: Clients, series: list[Appointment]) -> None:
    for _ in range(2):
        assert as_("coach").post(address(cast, series[2]), typed(cast, "2027-03-17")).status_code == 302
    assert times(series)[2:4] == ["Wed 17 Mar 17:30", "Wed 24 Mar 17:30"]


@pytest.mark.parametrize(
    ("by_hand", "moved"), [("stay", "Thu 25 Mar 10:00"), ("move", "Wed 24 Mar 17:30")], ids=["stay", "move"]
)
def test_what_was_done_by_hand_is_handled_and_said(
    by_hand: str, moved: str, cast: Cast, as_: Clients, series: list[Appointment]
) -> None:
    Appointment.objects.filter(pk=series[3].pk).update(starts_at=datetime(2027, 3, 25, 10, tzinfo=UTC))
    Appointment.objects.filter(pk=series[4].pk).update(status="cancelled")
    page = as_("coach").get(address(cast, series[2])).content.decode()
    assert re.search(r"Thursday 25 March, 10:00\s*<b>moved by hand</b>", page)
    assert re.search(r"Tuesday 30 March, 16:00\s*<b>cancelled</b>", page)
    answer = as_("coach").post(address(cast, series[2]), typed(cast, "2027-03-17", by_hand=by_hand), follow=True)
    stays = " 1 that was moved by hand stays." if by_hand == "stay" else ""
    number = 2 if by_hand == "stay" else 3
    expected = f"Moved {number} lessons. Earlier ones stay as they were.{stays} 1 cancelled stays cancelled."
    assert expected in answer.content.decode()
    assert times(series)[2:] == ["Wed 17 Mar 17:30", moved, "Tue 30 Mar 16:00", "Wed 07 Apr 17:30"]
    assert series[4].status == "cancelled"


def test_a_lesson_moved_by_hand_is_a_day_from_which_to_move(
    cast: Cast, as_: Clients, series: list[Appointment]
) -> None:
    """The third was moved to Thursday: setting it to Wednesday moves the Tuesdays after it to Wednesdays."""
    Appointment.objects.filter(pk=series[2].pk).update(starts_at=datetime(2027, 3, 18, 10, tzinfo=UTC))
    as_("coach").post(address(cast, series[2]), typed(cast, "2027-03-17"))
    assert times(series)[2:4] == ["Wed 17 Mar 17:30", "Wed 24 Mar 17:30"]


def test_another_coach_takes_the_rest_but_not_what_a_third_one_has(
    cast: Cast, as_: Clients, series: list[Appointment]
) -> None:
    Appointment.objects.filter(pk=series[4].pk).update(coach=cast.assistant)
    answer = as_("manager").post(address(cast, series[2]), typed(cast, "2027-03-16", coach=cast.other_coach.pk))
    assert answer.status_code == 422 and "Cai Meadowtwine does not coach all who come" in answer.content.decode()
    values = typed(cast, "2027-03-16", "16:00", coach=cast.cover.pk)
    assert as_("manager").post(address(cast, series[2]), values).status_code == 302
    times(series)
    assert [row.coach for row in series] == [*[cast.coach] * 2, *[cast.cover] * 2, cast.assistant, cast.cover]


def test_clashes_and_pauses_are_said_before_and_nothing_typed_is_lost(
    cast: Cast, as_: Clients, series: list[Appointment]
) -> None:
    other = Appointment.objects.create(
        coach=cast.coach, starts_at=datetime(2027, 3, 24, 18, tzinfo=UTC), made_by=cast.coach.user
    )
    other.students.add(make_student("Dora Wetherknit"))
    make_pause(cast.student, datetime(2027, 4, 1).date())
    answer = as_("coach").post(address(cast, series[2]), typed(cast, "2027-03-17"))
    page = answer.content.decode()
    assert answer.status_code == 422 and "on Wednesday 24 March 2027 at 18:00" in page and "is pausing" in page
    assert "Dora Wetherknit" not in page and 'value="Bunker"' in page and 'value="17:30"' in page
    assert times(series)[2] == "Tue 16 Mar 16:00"
    anyway = typed(cast, "2027-03-17", anyway="on")
    assert as_("coach").post(address(cast, series[2]), anyway).status_code == 302


@pytest.mark.parametrize(
    ("day", "at", "message"),
    [
        ("2027-02-23", "17:30", "has passed"),
        ("2028-05-02", "17:30", "within a year"),
        ("2027-03-21", "01:30", "the clocks go forward"),
        ("", "17:30", "Choose a day."),
        ("2027-03-17", "25:00", "Type a time"),
    ],
)
def test_bad_input_gets_a_clear_message(
    day: str, at: str, message: str, cast: Cast, as_: Clients, series: list[Appointment]
) -> None:
    before = times(series)
    answer = as_("coach").post(address(cast, series[2]), typed(cast, day, at))
    assert answer.status_code == 422 and message in answer.content.decode()
    assert times(series) == before


def test_what_has_begun_or_was_cancelled_is_no_day_from_which_to_move(
    cast: Cast, as_: Clients, series: list[Appointment]
) -> None:
    Appointment.objects.filter(pk=series[2].pk).update(status="cancelled")
    answer = as_("coach").post(address(cast, series[2]), typed(cast, "2027-03-17"))
    assert answer.status_code == 422 and "Plan it again first." in answer.content.decode()
    with time_machine.travel(datetime(2027, 3, 2, 16, 10, tzinfo=UTC), tick=False):
        answer = as_("coach").post(address(cast, series[0]), typed(cast, "2027-03-17"))
    assert answer.status_code == 422 and "This lesson has begun." in answer.content.decode()


def test_the_pages_lead_there_and_ask_few_queries(cast: Cast, as_: Clients, series: list[Appointment]) -> None:
    to = address(cast, series[0])
    own = as_("coach").get(reverse("appointment", args=[cast.student.key, series[0].key])).content.decode()
    day = as_("coach").get(reverse("day") + "?day=2027-03-02").content.decode()
    assert f'href="{to}"' in own and f'href="{to}"' in day
    with CaptureQueriesContext(connection) as captured:
        assert as_("coach").get(to).status_code == 200
    assert len(captured) <= 12
    alone = Appointment.objects.create(coach=cast.coach, starts_at=timezone.now(), made_by=cast.coach.user)
    alone.students.add(cast.student)
    assert as_("coach").get(address(cast, alone)).status_code == 404
