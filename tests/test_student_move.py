"""Moving a student to another main coach, and who sees the student before and after."""

import re
import uuid
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Area, Care, Student
from coachbook.caseload.care.assignments import move_student
from tests.conftest import Cast
from tests.make import make_student

Clients = Callable[[str], Client]
ON = date(2026, 6, 1)


def ago(days: int, on: date = ON) -> date:
    return on - timedelta(days=days)


def today(cast: Cast) -> date:
    return cast.academy.today(timezone.now())


def move(client: Client, student: Student, ask: str = "", **typed: Any) -> Any:
    return client.post(reverse("student_move", args=[student.key]) + ask, typed)


def main_of(student: Student, on: date) -> dict[str, str]:
    """Who coaches each area on a day."""
    cares = student.cares.in_force(on).filter(role="main")
    return {area.value: str(care.coach) for care in cares for area in care.areas}


def test_only_a_manager_moves_a_student(cast: Cast, as_: Clients) -> None:
    address = reverse("student_move", args=[cast.student.key])
    typed = {"coach": cast.other_coach.pk, "since": today(cast).isoformat()}
    for actor, status in [("coach", 403), ("cover", 403), ("student", 403), ("guardian", 403), ("other_coach", 404)]:
        assert as_(actor).get(address).status_code == status
        assert as_(actor).post(address, typed).status_code == status
    assert as_("manager").get(reverse("student_move", args=[uuid.uuid4()])).status_code == 404
    assert as_("manager").put(address).status_code == 405
    assert cast.student.cares.get(role="main").coach == cast.coach


def test_from_today_the_new_coach_sees_the_student_and_the_old_one_does_not(cast: Cast, as_: Clients) -> None:
    address = reverse("student", args=[cast.student.key])
    before = [as_(actor).get(address).status_code for actor in ("coach", "other_coach")]
    answer = move(as_("manager"), cast.student, coach=cast.other_coach.pk, since=today(cast).isoformat())
    assert answer.status_code == 302 and answer.url == reverse("coach_caseload", args=[cast.coach.user.key])
    after = [as_(actor).get(address).status_code for actor in ("coach", "other_coach")]
    assert (before, after) == ([200, 404], [404, 200])
    assert as_("cover").get(address).status_code == 200
    page = as_("manager").get(answer.url).content.decode()
    assert "Alder Quimble is with Cai Meadowtwine from today on." in page


@pytest.mark.history
def test_a_move_ends_one_care_the_day_before_and_keeps_its_areas_and_its_history(cast: Cast) -> None:
    old = cast.student.cares.get(role="main")
    Care.objects.filter(pk=old.pk).update(bunker=False)
    new = move_student(student=cast.student, to=cast.other_coach, since=ON, by=cast.manager)
    old.refresh_from_db()
    assert (old.until, new.since, new.until) == (ago(1), ON, None)
    assert new.areas == [Area.PUTTING, Area.CHIPPING, Area.PITCHING]
    assert old.history.first().history_user == new.history.first().history_user == cast.manager
    assert old.history.count() == 2


def test_a_move_for_later_changes_nothing_today(cast: Cast, as_: Clients) -> None:
    on, address = today(cast), reverse("student", args=[cast.student.key])
    since = on + timedelta(days=90)
    move(as_("manager"), cast.student, coach=cast.other_coach.pk, since=since.isoformat())
    assert [as_(actor).get(address).status_code for actor in ("coach", "other_coach")] == [200, 404]
    assert set(main_of(cast.student, ago(1, since)).values()) == {"Ida Fernkettle"}
    assert set(main_of(cast.student, since).values()) == {"Cai Meadowtwine"}


def test_care_that_began_the_same_day_is_replaced(cast: Cast) -> None:
    cast.student.cares.filter(role="main").update(since=ON)
    move_student(student=cast.student, to=cast.other_coach, since=ON, by=cast.manager)
    assert cast.student.cares.get(role="main").coach == cast.other_coach
    gone = Care.history.filter(history_type="-").get()
    assert (gone.coach, gone.history_user) == (cast.coach, cast.manager)


def test_a_planned_move_gives_way_to_another(cast: Cast) -> None:
    move_student(student=cast.student, to=cast.other_coach, since=ago(-30), by=cast.manager)
    move_student(student=cast.student, to=cast.cover, since=ago(-10), by=cast.manager)
    days = {ago(-9): "Ida Fernkettle", ago(-10): "Bram Saltquill", ago(-40): "Bram Saltquill"}
    assert {day: main_of(cast.student, day)["putting"] for day in days} == days


def test_a_planned_move_is_taken_back(cast: Cast, as_: Clients) -> None:
    on = today(cast)
    later = on + timedelta(days=30)
    move_student(student=cast.student, to=cast.other_coach, since=later, by=cast.manager)
    assert move(as_("manager"), cast.student, coach=cast.coach.pk, since=on.isoformat()).status_code == 302
    assert main_of(cast.student, on) == main_of(cast.student, later) == dict.fromkeys(Area.values, "Ida Fernkettle")


def test_of_two_main_coaches_one_hands_over_and_the_other_stays(cast: Cast, as_: Clients) -> None:
    on, manager = today(cast), as_("manager")
    move_student(student=cast.student, to=cast.cover, since=on, by=cast.manager, areas=[Area.CHIPPING])
    parts = {"putting": "Ida Fernkettle", "chipping": "Bram Saltquill", "pitching": "Ida Fernkettle"}
    assert main_of(cast.student, on) == {**parts, "bunker": "Ida Fernkettle"}
    staying = cast.student.cares.in_force(on).get(coach=cast.coach)
    ask = f"?from={cast.cover.user.key}"
    page = manager.get(reverse("student_move", args=[cast.student.key]) + ask).content.decode()
    assert re.search(rf'value="{cast.cover.user.key}"[^>]*checked', page) and "Bram Saltquill, chipping" in page
    typed = {"taken_from": str(cast.cover.user.key), "since": on.isoformat()}
    again = move(manager, cast.student, ask, coach=cast.cover.pk, **typed)
    assert again.status_code == 422 and "main coach for that already" in again.content.decode()
    assert move(manager, cast.student, ask, coach=cast.other_coach.pk, **typed).url.endswith(f"{cast.cover.user.key}/")
    assert main_of(cast.student, on) == {**parts, "chipping": "Cai Meadowtwine", "bunker": "Ida Fernkettle"}
    assert Care.objects.filter(pk=staying.pk).exists()
    move(manager, cast.student, coach=cast.cover.pk, taken_from="all", since=on.isoformat())
    assert main_of(cast.student, on) == dict.fromkeys(Area.values, "Bram Saltquill")


def test_a_student_with_no_coach_is_given_one_for_every_area(cast: Cast, as_: Clients) -> None:
    student = make_student("Dora Wetherknit")
    answer = move(as_("manager"), student, coach=cast.coach.pk, since=today(cast).isoformat())
    assert answer.url == reverse("caseload")
    assert main_of(student, today(cast)) == dict.fromkeys(Area.values, "Ida Fernkettle")


def test_who_covers_or_assists_stays(cast: Cast) -> None:
    move_student(student=cast.student, to=cast.other_coach, since=ON, by=cast.manager)
    roles = cast.student.cares.in_force(ON).values_list("role", "coach__user__name")
    others = {("cover", "Bram Saltquill"), ("assistant", "Noor Appleknot")}
    assert set(roles) == {("main", "Cai Meadowtwine"), *others}


def bad_moves(cast: Cast) -> dict[str, tuple[dict[str, Any], str, str]]:
    """What cannot be: what is typed, the field, the message."""
    on = today(cast)
    good = {"coach": cast.other_coach.pk, "since": (on + timedelta(days=7)).isoformat()}
    return {
        "same coach": ({**good, "coach": cast.coach.pk}, "coach", "not their main coach already"),
        "no coach": ({**good, "coach": ""}, "coach", "Choose a coach."),
        "closed coach": ({**good, "coach": cast.assistant.pk}, "coach", "whose account is open"),
        "nonsense": ({**good, "coach": "x"}, "coach", "Choose a coach"),
        "yesterday": ({**good, "since": ago(1, on).isoformat()}, "since", "has passed"),
        "too far": ({**good, "since": ago(-91, on).isoformat()}, "since", "within the next 90 days"),
        "no day": ({**good, "since": ""}, "since", "Choose a day."),
        "not a day": ({**good, "since": "2026-02-30"}, "since", "Type a day"),
        "nothing": ({}, "coach", "Choose a coach."),
    }


@pytest.mark.parametrize(
    "case",
    ["same coach", "no coach", "closed coach", "nonsense", "yesterday", "too far", "no day", "not a day", "nothing"],
)
def test_a_move_that_cannot_be_says_why_and_keeps_what_was_typed(case: str, cast: Cast, as_: Clients) -> None:
    cast.assistant.user.is_active = False
    cast.assistant.user.save()
    typed, field, message = bad_moves(cast)[case]
    answer = move(as_("manager"), cast.student, **typed)
    page = answer.content.decode()
    assert answer.status_code == 422 and message in answer.context["form"].errors[field][0]
    assert "To put right" in page and f'id="id_{field}_error"' in page
    if typed.get("since"):
        assert f'value="{typed["since"]}"' in page
    if field == "since":
        assert re.search(rf'<option value="{cast.other_coach.pk}" selected', page)
    assert cast.student.cares.get(role="main").coach == cast.coach


def test_a_form_offers_open_accounts_but_not_the_present_coach(cast: Cast, as_: Clients) -> None:
    cast.assistant.user.is_active = False
    cast.assistant.user.save()
    page = as_("manager").get(reverse("student_move", args=[cast.student.key])).content.decode()
    offered = re.findall(r"<option[^>]*>([^<]+)</option>", page)
    assert offered == ["Choose a coach", "Bram Saltquill", "Cai Meadowtwine", "Tam Heronquill"]
    assert f'value="{today(cast).isoformat()}"' in page
