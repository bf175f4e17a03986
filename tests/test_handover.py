"""A caseload in other hands: for good or for some days, all students at once, with nothing lost."""

import re
import uuid
from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Area, Care, Coach, Student
from coachbook.caseload.care import second_coach
from coachbook.caseload.care.assignments import move_student
from tests.conftest import Cast
from tests.make import make_care, make_consent, make_guardian, make_lesson, make_student

Clients = Callable[[str], Client]


def today(cast: Cast) -> date:
    return cast.academy.today(timezone.now())


def later(cast: Cast, days: int) -> date:
    return today(cast) + timedelta(days=days)


def hand_over(client: Client, coach: Coach, **typed: Any) -> Any:
    return client.post(reverse("hand_over", args=[coach.user.key]), typed)


def for_good(cast: Cast, **typed: Any) -> dict[str, Any]:
    usual = {"to": cast.other_coach.pk, "manner": "good", "since": today(cast).isoformat(), "until": ""}
    return {**usual, "note": "", **typed}


def for_some_days(cast: Cast, first: int = 0, last: int = 13, **typed: Any) -> dict[str, Any]:
    days = {"since": later(cast, first).isoformat(), "until": later(cast, last).isoformat()}
    return for_good(cast, manner="cover", **{**days, **typed})


def teachers(student: Student, on: date, role: str = "main") -> set[str]:
    return {str(care.coach) for care in student.cares.in_force(on).filter(role=role)}


def mains(student: Student, on: date) -> dict[str, str]:
    """Who coaches each area on a day, as main coach."""
    cares = student.cares.in_force(on).filter(role="main")
    return {area.value: str(care.coach) for care in cares for area in care.areas}


def sees(client: Client, student: Student) -> int:
    return client.get(reverse("student", args=[student.key])).status_code


@pytest.fixture
def others(cast: Cast) -> list[Student]:
    """Two more students of the coach, of age."""
    names = ("Dora Wetherknit", "Ewan Starknot")
    return [make_student(name, coach=cast.coach, age_group="adult") for name in names]


# --- For good -----------------------------------------------------------------------------------


def test_all_students_go_to_another_coach_for_good(cast: Cast, others: list[Student], as_: Clients) -> None:
    since = later(cast, 7)
    answer = hand_over(as_("manager"), cast.coach, **for_good(cast, since=since.isoformat(), note="Be patient."))
    assert answer.status_code == 302 and answer.url == reverse("coach_caseload", args=[cast.coach.user.key])
    for student in [cast.student, *others]:
        assert teachers(student, since - timedelta(days=1)) == {"Ida Fernkettle"}
        assert teachers(student, since) == {"Cai Meadowtwine"}
        new = student.cares.get(coach=cast.other_coach)
        assert (new.since, new.until, new.note) == (since, None, "Be patient.")
        assert new.history.get().history_user == cast.manager
    assert teachers(cast.other_student, since) == {"Cai Meadowtwine"}
    page = as_("manager").get(answer.url).content.decode()
    assert f"3 students of Ida Fernkettle are with Cai Meadowtwine from {since:%-d %B %Y} on." in page


def test_from_that_day_the_one_sees_them_and_the_other_does_not(
    cast: Cast, others: list[Student], as_: Clients
) -> None:
    hand_over(as_("manager"), cast.coach, **for_good(cast, since=later(cast, 2).isoformat()))
    found = {}
    for days in (1, 2):
        with time_machine.travel(datetime.combine(later(cast, days), time(12), tzinfo=UTC), tick=False):
            found[days] = [sees(as_(actor), others[0]) for actor in ("coach", "other_coach", "manager")]
    assert found == {1: [200, 404, 200], 2: [404, 200, 200]}


def test_what_was_written_before_stays_readable(cast: Cast, as_: Clients) -> None:
    lesson = make_lesson(cast.student, cast.coach, status="complete", completed_at=timezone.now(), note="words-canary")
    old = cast.student.cares.get(role="main")
    hand_over(as_("manager"), cast.coach, **for_good(cast, note="note-canary"))
    client = as_("other_coach")
    page = client.get(reverse("student", args=[cast.student.key])).content.decode()
    address = reverse("lesson", args=[cast.student.key, lesson.key])
    assert "note-canary" in page and address in page
    assert client.get(address).status_code == 200
    assert client.get(reverse("progress", args=[cast.student.key])).status_code == 200
    old.refresh_from_db()
    assert (old.coach, old.since, old.until) == (cast.coach, date(2020, 1, 1), later(cast, -1))
    earlier = client.get(reverse("care", args=[cast.student.key])).content.decode().split('<h2 id="earlier"')[1]
    assert "Ida Fernkettle" in earlier
    for actor in ("student", "guardian"):
        assert "note-canary" not in as_(actor).get(reverse("student", args=[cast.student.key])).content.decode()


def test_who_has_left_or_was_merged_is_not_moved(cast: Cast, as_: Clients) -> None:
    left = make_student("Clem Hazelwax", coach=cast.coach, status="left")
    merged = make_student("Alder Quimbel", coach=cast.coach, merged_into=cast.student)
    assert hand_over(as_("manager"), cast.coach, **for_good(cast)).status_code == 302
    for student in (left, merged):
        care = student.cares.get()
        assert (care.coach, care.until) == (cast.coach, None)


def test_each_keeps_their_areas_and_another_main_coach_theirs(cast: Cast) -> None:
    move_student(student=cast.student, to=cast.cover, since=later(cast, -9), by=cast.manager, areas=[Area.CHIPPING])
    second_coach.hand_over(
        coach=cast.coach, to=cast.other_coach, since=today(cast), until=None, note="", by=cast.manager
    )
    kept = {"chipping": "Bram Saltquill"}
    assert mains(cast.student, today(cast)) == {**dict.fromkeys(Area.values, "Cai Meadowtwine"), **kept}


def test_a_student_who_comes_later_goes_to_the_new_coach_on_that_day(cast: Cast) -> None:
    """Cai has Petra until a move to Ida in 20 days; Ida's whole caseload goes to Bram today."""
    move_student(student=cast.other_student, to=cast.coach, since=later(cast, 20), by=cast.manager)
    second_coach.hand_over(coach=cast.coach, to=cast.cover, since=today(cast), until=None, note="", by=cast.manager)
    assert teachers(cast.other_student, later(cast, 19)) == {"Cai Meadowtwine"}
    assert teachers(cast.other_student, later(cast, 20)) == {"Bram Saltquill"}


def test_care_in_pieces_is_handed_over_whole(cast: Cast) -> None:
    cast.student.cares.filter(role="main").update(until=later(cast, 20), bunker=False)
    make_care(cast.coach, cast.student, since=later(cast, 21), putting=False)
    second_coach.hand_over(
        coach=cast.coach, to=cast.other_coach, since=later(cast, 5), until=None, note="", by=cast.manager
    )
    assert mains(cast.student, later(cast, 4)) == dict.fromkeys(["putting", "chipping", "pitching"], "Ida Fernkettle")
    assert "bunker" not in mains(cast.student, later(cast, 20))
    assert mains(cast.student, later(cast, 30)) == dict.fromkeys(Area.values, "Cai Meadowtwine")
    assert not cast.coach.cares.filter(until=None).exists()


def test_if_one_cannot_be_moved_none_is(cast: Cast, others: list[Student], monkeypatch: pytest.MonkeyPatch) -> None:
    moves: list[Any] = []

    def slips(**values: Any) -> Care:
        moves.append(values)
        if len(moves) == 3:
            raise OSError("the disk is full")
        return move_student(**values)

    monkeypatch.setattr(second_coach, "move_student", slips)
    with pytest.raises(OSError, match="full"):
        second_coach.hand_over(
            coach=cast.coach, to=cast.other_coach, since=today(cast), until=None, note="", by=cast.manager
        )
    assert len(moves) == 3
    assert [teachers(student, today(cast)) for student in [cast.student, *others]] == [{"Ida Fernkettle"}] * 3


def test_a_closed_account_is_handed_over_too(cast: Cast, as_: Clients) -> None:
    cast.coach.user.is_active = False
    cast.coach.user.save()
    assert hand_over(as_("manager"), cast.coach, **for_good(cast)).status_code == 302
    assert teachers(cast.student, today(cast)) == {"Cai Meadowtwine"}


def test_the_same_page_posted_twice_hands_over_once(cast: Cast, as_: Clients) -> None:
    typed = for_good(cast, note="Kept?")
    assert hand_over(as_("manager"), cast.coach, **typed).status_code == 302
    rows = Care.objects.count()
    again = hand_over(as_("manager"), cast.coach, **typed)
    assert again.status_code == 422 and Care.objects.count() == rows
    page = again.content.decode()
    assert "Nobody is in the care of Ida Fernkettle then." in page and "Kept?" in page
    some_days = for_some_days(cast, to=cast.cover.pk)
    assert [hand_over(as_("manager"), cast.other_coach, **some_days).status_code for _ in range(2)] == [302, 302]
    assert cast.other_student.cares.filter(coach=cast.cover).count() == 1


# --- For some days ------------------------------------------------------------------------------


def test_a_covering_coach_covers_every_student_for_a_fortnight(cast: Cast, others: list[Student], as_: Clients) -> None:
    typed = for_some_days(cast, 3, 16, note="Nothing new, please.")
    answer = hand_over(as_("manager"), cast.coach, **typed)
    assert answer.status_code == 302
    for student in [cast.student, *others]:
        cover = student.cares.get(coach=cast.other_coach)
        assert (cover.role, cover.since, cover.until) == ("cover", later(cast, 3), later(cast, 16))
        assert cover.note == "Nothing new, please."
        assert teachers(student, later(cast, 10)) == teachers(student, later(cast, 17)) == {"Ida Fernkettle"}
    assert "are with Cai Meadowtwine as covering coach from" in as_("manager").get(answer.url).content.decode()
    found = {}
    for days in (2, 3, 16, 17):
        with time_machine.travel(datetime.combine(later(cast, days), time(12), tzinfo=UTC), tick=False):
            as_("other_coach").force_login(cast.other_coach.user)
            found[days] = [sees(as_("other_coach"), student) for student in others]
    assert found == {2: [404] * 2, 3: [200] * 2, 16: [200] * 2, 17: [404] * 2}


def test_a_covering_coach_covers_no_longer_and_no_more_than_the_main_coach_would(cast: Cast) -> None:
    days = {"since": later(cast, 2), "until": later(cast, 5)}
    cast.student.cares.filter(role="main").update(bunker=False, **days)
    left = make_student("Clem Hazelwax", coach=cast.coach, status="left")
    over = make_student("Fern Larchreed")
    make_care(cast.coach, over, until=later(cast, -1))
    to_come = make_student("Gwen Oatling")
    make_care(cast.coach, to_come, since=later(cast, 14))
    until = later(cast, 13)
    number = second_coach.hand_over(
        coach=cast.coach, to=cast.other_coach, since=today(cast), until=until, note="", by=cast.manager
    )
    cover = cast.other_coach.cares.get(role="cover")
    assert number == 1 and cover.student == cast.student
    assert (cover.since, cover.until) == (days["since"], days["until"]) and Area.BUNKER not in cover.areas
    assert not any(student.cares.filter(coach=cast.other_coach).exists() for student in (left, over, to_come))


def test_whose_record_a_covering_coach_does_not_see_yet_is_said(
    cast: Cast, others: list[Student], as_: Clients
) -> None:
    child = others[0]
    guardian = make_guardian("Hazel Wetherknit", child)
    Student.objects.filter(pk=child.pk).update(birth_year=today(cast).year - 9)
    address = reverse("hand_over", args=[cast.coach.user.key])
    page = as_("manager").get(address).content.decode()
    told = re.search(r'<p class="care">A covering coach sees(.*?)agrees to sharing', page, re.DOTALL)
    assert told and "Dora Wetherknit" in told[1] and "Ewan Starknot" not in told[1] and "Alder Quimble" not in told[1]
    hand_over(as_("manager"), cast.coach, **for_some_days(cast))
    assert [sees(as_("other_coach"), student) for student in others] == [404, 200]
    make_consent(child, guardian)
    assert sees(as_("other_coach"), child) == 200
    assert "agrees to sharing" not in as_("manager").get(address).content.decode()


# --- What cannot be, and who may ----------------------------------------------------------------


def bad_hands(cast: Cast) -> dict[str, tuple[dict[str, Any], str, str]]:
    """What cannot be: what is typed, the field, the message."""
    return {
        "to themselves": (for_good(cast, to=cast.coach.pk), "to", "who is another one"),
        "to a closed account": (for_good(cast, to=cast.past_coach.pk), "to", "whose account is open"),
        "to nobody": (for_good(cast, to=""), "to", "Choose a coach."),
        "no manner": (for_good(cast, manner=""), "manner", "Choose one of the two."),
        "yesterday": (for_good(cast, since=later(cast, -1).isoformat()), "since", "has passed"),
        "too far": (for_good(cast, since=later(cast, 91).isoformat()), "since", "within the next 90 days"),
        "not a day": (for_good(cast, since="2026-02-30"), "since", "Type a day"),
        "no day": (for_good(cast, since=""), "since", "Choose a day."),
        "for good until": (for_good(cast, until=later(cast, 5).isoformat()), "until", "For good has no last day"),
        "no last day": (for_some_days(cast, until=""), "until", "Choose the last day"),
        "ends first": (for_some_days(cast, 5, 4), "until", "before the first one"),
        "long note": (for_good(cast, note="n" * 1001), "note", "1000 characters"),
    }


CASES = [
    *["to themselves", "to a closed account", "to nobody", "no manner", "yesterday", "too far", "not a day", "no day"],
    *["for good until", "no last day", "ends first", "long note"],
]


@pytest.mark.parametrize("case", CASES)
def test_a_hand_over_that_cannot_be_says_why_and_keeps_what_was_typed(case: str, cast: Cast, as_: Clients) -> None:
    cast.past_coach.user.is_active = False
    cast.past_coach.user.save()
    typed, field, message = bad_hands(cast)[case]
    rows = Care.history.count()
    answer = hand_over(as_("manager"), cast.coach, **{**typed, "note": typed["note"] or "Be patient."})
    page = answer.content.decode()
    assert answer.status_code == 422 and message in answer.context["form"].errors[field][0]
    assert "To put right" in page and f'id="id_{field}_error"' in page
    assert (typed["note"] or "Be patient.") in page
    assert not typed["since"] or f'value="{typed["since"]}"' in page
    assert Care.history.count() == rows


def test_a_coach_with_nobody_has_nothing_to_hand_over(cast: Cast, as_: Clients) -> None:
    page = as_("manager").get(reverse("hand_over", args=[cast.cover.user.key])).content.decode()
    assert "Nobody is in this coach’s care." in page
    assert hand_over(as_("manager"), cast.cover, **for_good(cast)).status_code == 422
    assert as_("manager").post(reverse("hand_over", args=[cast.cover.user.key])).status_code == 422


def test_a_coach_never_takes_over_from_themselves(cast: Cast) -> None:
    with pytest.raises(ValueError, match="themselves"):
        second_coach.hand_over(coach=cast.coach, to=cast.coach, since=today(cast), until=None, note="", by=cast.manager)


def test_only_a_manager_hands_over_and_only_a_coach_is_handed_over(cast: Cast, as_: Clients) -> None:
    address = reverse("hand_over", args=[cast.coach.user.key])
    for actor in ("coach", "cover", "assistant", "past_coach", "other_coach", "student", "guardian"):
        assert as_(actor).get(address).status_code == 403
        assert hand_over(as_(actor), cast.coach, **for_good(cast)).status_code == 403
    assert teachers(cast.student, today(cast)) == {"Ida Fernkettle"}
    for key in (uuid.uuid4(), cast.manager.key, cast.student.user.key):
        assert as_("manager").get(reverse("hand_over", args=[key])).status_code == 404
    caseload = as_("manager").get(reverse("coach_caseload", args=[cast.coach.user.key])).content.decode()
    assert f'href="{address}"' in caseload


def test_many_students_cost_the_page_no_more_queries(cast: Cast, as_: Clients) -> None:
    address = reverse("hand_over", args=[cast.coach.user.key])
    as_("manager")

    def queries() -> int:
        with CaptureQueriesContext(connection) as captured:
            assert as_("manager").get(address).status_code == 200
        return len(captured)

    few = queries()
    for year in (None, 2020, 1980):
        for _ in range(4):
            make_student(coach=cast.coach, birth_year=year)
    assert queries() == few <= 12
