"""Coming appointments follow every act that touches them: listed where it is confirmed, chosen, and undone with it."""

import re
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Academy, Care, Coach, Student
from coachbook.corrections.models import Correction
from coachbook.diary.calendar.feed import calendar_for
from coachbook.diary.models import Appointment, Rearrangement, Series
from tests.conftest import Cast
from tests.make import make_care, make_student

Clients = Callable[[str], Client]
Confirmed = Callable[[Cast], tuple[str, dict[str, Any]]]
NOON = datetime(2026, 11, 30, 12, tzinfo=UTC)  # a Monday


@pytest.fixture(autouse=True)
def monday(cast: Cast) -> object:
    with time_machine.travel(NOON, tick=False):
        yield


def book(coach: Coach, *students: Student, days: float = 1, **values: Any) -> Appointment:
    """A lesson so many days from Monday noon."""
    row = Appointment.objects.create(
        coach=coach, starts_at=NOON + timedelta(days=days), made_by=coach.user, place="The green", **values
    )
    row.students.set(students)
    return row


def day(days: int) -> str:
    return (NOON.date() + timedelta(days=days)).isoformat()


def seen_in(page: str) -> list[str]:
    """What a page showed of the appointments, to be sent along."""
    return re.findall(r'name="seen" value="([^"]+)"', page)


def state(row: Appointment) -> tuple[Coach, str, set[str]]:
    row.refresh_from_db()
    return row.coach, row.status, {student.name for student in row.students.all()}


def confirm(client: Client, address: str, typed: dict[str, Any], **chosen: Any) -> Any:
    """Post twice: the page lists the appointments, and is then confirmed with what is chosen there already."""
    first = client.post(address, typed)
    page = first.content.decode()
    assert first.status_code == 200, page
    usual = re.search(r'name="appointments" value="(\w+)"[^>]*checked', page)
    assert usual, page
    answer = client.post(address, {**typed, "seen": seen_in(page), "appointments": usual[1], **chosen})
    assert answer.status_code == 302, answer.content.decode()
    return page


def details_of(student: Student, **values: Any) -> dict[str, Any]:
    """What the page of a student's details sends."""
    sides = {f"{area}_side": "right" for area in ("putting", "chipping", "pitching", "bunker")}
    return {"name": student.name, "status": "active", **sides, **values}


def kept_by_somebody(row: Appointment) -> bool:
    """Whether the coach of a planned appointment is there on its day and has all its students, none of whom left."""
    on = timezone.localdate(row.starts_at)
    cares = Care.objects.in_force(on).filter(coach=row.coach, coach__user__is_active=True)
    students = list(row.students.all())
    return bool(students) and all(
        student.status == "active" and student.merged_into is None and cares.filter(student=student).exists()
        for student in students
    )


# --- The acts -------------------------------------------------------------------------------------


def moving(cast: Cast) -> tuple[str, dict[str, Any]]:
    return reverse("student_move", args=[cast.student.key]), {"coach": cast.other_coach.pk, "since": day(2)}


def handing_over(cast: Cast) -> tuple[str, dict[str, Any]]:
    typed = {"to": cast.other_coach.pk, "manner": "good", "since": day(2), "until": "", "note": ""}
    return reverse("hand_over", args=[cast.coach.user.key]), typed


def covering(cast: Cast) -> tuple[str, dict[str, Any]]:
    typed = {"to": cast.other_coach.pk, "manner": "cover", "since": day(2), "until": day(12), "note": ""}
    return reverse("hand_over", args=[cast.coach.user.key]), typed


def adding_cover(cast: Cast) -> tuple[str, dict[str, Any]]:
    typed = {"coach": cast.other_coach.pk, "role": "cover", "since": day(2), "until": day(12), "note": ""}
    return reverse("care", args=[cast.student.key]), {**typed, "areas": ["putting", "chipping"]}


def ending(cast: Cast) -> tuple[str, dict[str, Any]]:
    care = cast.student.cares.filter(coach=cast.cover).order_by("-pk").first()
    return reverse("care_end", args=[cast.student.key, care.pk if care else 0]), {}


def leaving(cast: Cast) -> tuple[str, dict[str, Any]]:
    return reverse("student_details", args=[cast.student.key]), details_of(cast.student, status="left")


def pausing(cast: Cast) -> tuple[str, dict[str, Any]]:
    typed = {"reason": "injury", "since": day(2), "until": day(12)}
    return reverse("pauses", args=[cast.student.key]), typed


def closing(cast: Cast) -> tuple[str, dict[str, Any]]:
    return reverse("person_close", args=[cast.coach.user.key]), {}


def merging(cast: Cast) -> tuple[str, dict[str, Any]]:
    twin = Student.objects.get(name="A. Quimble")
    return reverse("student_merge", args=[twin.key]), {"into": cast.student.pk}


ACTS = [moving, handing_over, covering, adding_cover, ending, leaving, pausing, closing, merging]


def everything(cast: Cast) -> list[Appointment]:
    """Lessons that acts could touch: alone, in a series, in a group, with a second coach, of a duplicate."""
    friend = make_student("Dora Wetherknit", coach=cast.coach, age_group="adult")
    make_student("A. Quimble", coach=cast.coach, account=False)
    twin = Student.objects.get(name="A. Quimble")
    make_care(cast.past_coach, twin, role="assistant", since=date(2026, 12, 5))
    series = Series.objects.create(rule="FREQ=WEEKLY;COUNT=3", first_at=NOON, made_by=cast.coach.user)
    own = [book(cast.coach, cast.student, days=days, series=series) for days in (1, 8, 15)]
    return [
        *own,
        book(cast.coach, cast.student, friend, days=9),
        book(cast.coach, friend, days=10),
        book(cast.cover, cast.student, days=4),
        book(cast.coach, twin, days=5),
        book(cast.past_coach, twin, days=6),
    ]


@pytest.mark.parametrize("act", ACTS, ids=lambda act: act.__name__)
@pytest.mark.parametrize("chosen", ["", "cancel", "keep", "move"])
def test_no_act_leaves_an_appointment_that_nobody_keeps(act: Confirmed, chosen: str, cast: Cast, as_: Clients) -> None:
    """The invariant, whatever is chosen; and whoever has nothing to do with the act keeps their lesson as it is."""
    rows = everything(cast)
    assert all(map(kept_by_somebody, rows))
    strangers = book(cast.other_coach, cast.other_student, days=3)
    before = state(strangers)
    address, typed = act(cast)
    page = as_("manager").post(address, typed).content.decode()
    offered = re.findall(r'name="appointments" value="(\w+)"', page)
    if chosen and chosen not in offered:
        refused = as_("manager").post(address, {**typed, "seen": seen_in(page), "appointments": chosen})
        assert refused.status_code == 422 and "Choose one of these." in refused.content.decode()
        return
    confirm(as_("manager"), address, typed, **({"appointments": chosen} if chosen else {}))
    planned = Appointment.objects.planned().filter(starts_at__gt=NOON)
    assert [str(row) for row in planned if not kept_by_somebody(row)] == []
    assert state(strangers) == before
    assert Rearrangement.objects.count() <= 1


@pytest.mark.parametrize("act", ACTS, ids=lambda act: act.__name__)
def test_nothing_is_saved_before_the_appointments_were_seen(act: Confirmed, cast: Cast, as_: Clients) -> None:
    rows = everything(cast)
    before, cares = [state(row) for row in rows], list(Care.objects.order_by("pk").values())
    address, typed = act(cast)
    page = as_("manager").post(address, typed).content.decode()
    assert "coming appointment" in page and "Nothing is saved yet." in page
    stale = as_("manager").post(address, {**typed, "seen": ["other"], "appointments": "cancel"})
    assert stale.status_code == 422 and "changed since this page was shown" in stale.content.decode()
    assert [state(row) for row in rows] == before and list(Care.objects.order_by("pk").values()) == cares
    assert cast.student.pauses.count() == 0 and not Correction.objects.exists()
    cast.coach.user.refresh_from_db(), cast.student.refresh_from_db()
    assert cast.coach.user.is_active and cast.student.status == "active"


# --- Moving a student -----------------------------------------------------------------------------


def test_a_students_lessons_move_with_them_from_the_day_on(cast: Cast, as_: Clients) -> None:
    early, late = book(cast.coach, cast.student, days=1), book(cast.coach, cast.student, days=8)
    theirs = book(cast.cover, cast.student, days=9)
    page = confirm(as_("manager"), *moving(cast))
    assert "1 coming appointment" in page and "Tuesday 8 December, 12:00" in page and "1 December" not in page
    assert [state(row)[0] for row in (early, late, theirs)] == [cast.coach, cast.other_coach, cast.cover]
    assert state(late)[1] == "planned" and late.sequence == 1


def test_each_lesson_may_go_its_own_way(cast: Cast, as_: Clients) -> None:
    first, second = book(cast.coach, cast.student, days=8), book(cast.coach, cast.student, days=15)
    address, typed = moving(cast)
    confirm(as_("manager"), address, typed, **{f"one-{second.key}": "cancel"})
    assert state(first)[:2] == (cast.other_coach, "planned") and state(second)[:2] == (cast.coach, "cancelled")


def test_who_stays_the_coach_of_an_area_may_keep_the_lesson(cast: Cast, as_: Clients) -> None:
    cast.student.cares.filter(role="main").update(bunker=False)
    make_care(cast.past_coach, cast.student, putting=False, chipping=False, pitching=False)
    row = book(cast.past_coach, cast.student, days=8)
    address, typed = moving(cast)
    typed |= {"taken_from": str(cast.past_coach.user.key)}
    page = as_("manager").post(address, typed).content.decode()
    assert re.findall(r'name="appointments" value="(\w+)"', page) == ["move", "cancel"]
    make_care(cast.past_coach, cast.student, role="assistant")
    confirm(as_("manager"), address, typed, appointments="keep")
    assert state(row)[0] == cast.past_coach


def test_a_clash_is_said_before_and_loses_nothing(cast: Cast, as_: Clients) -> None:
    own = book(cast.coach, cast.student, days=8)
    theirs = book(cast.other_coach, cast.other_student, days=8 + 1 / 48)
    page = confirm(as_("manager"), *moving(cast))
    assert "Cai Meadowtwine has another appointment then, from 12:30 to 13:30." in page
    assert "Petra Sallowpipit" not in page
    assert state(own)[:2] == state(theirs)[:2] == (cast.other_coach, "planned")


def test_a_clash_that_came_up_since_is_shown_first(cast: Cast, as_: Clients) -> None:
    row = book(cast.coach, cast.student, days=8)
    address, typed = moving(cast)
    page = as_("manager").post(address, typed).content.decode()
    book(cast.other_coach, cast.other_student, days=8)
    again = as_("manager").post(address, {**typed, "seen": seen_in(page), "appointments": "move"})
    assert again.status_code == 422 and "has another appointment then" in again.content.decode()
    assert state(row)[0] == cast.coach


def test_a_student_leaves_a_group_and_the_others_keep_it(cast: Cast, as_: Clients) -> None:
    friend = make_student("Dora Wetherknit", coach=cast.coach)
    group = book(cast.coach, cast.student, friend, days=8)
    page = confirm(as_("manager"), *moving(cast))
    assert "Alder Quimble and 1 other" in page and "Take Alder Quimble out; the others keep it" in page
    assert state(group) == (cast.coach, "planned", {"Dora Wetherknit"})


def test_undoing_a_move_brings_care_and_lessons_back(cast: Cast, as_: Clients) -> None:
    friend = make_student("Dora Wetherknit", coach=cast.coach)
    later = make_care(cast.past_coach, make_student("Ewan Starknot"))
    Care.objects.filter(pk=later.pk).update(student=cast.student, since=date(2027, 1, 10), role="main", until=day(90))
    rows = [book(cast.coach, cast.student, days=8), book(cast.coach, cast.student, friend, days=9)]
    before, cares = [state(row) for row in rows], list(Care.objects.order_by("pk").values())
    confirm(as_("manager"), *moving(cast))
    assert [state(row) for row in rows] != before
    correction = Correction.objects.get()
    undo = reverse("correction_undo", args=[cast.student.key, correction.key])
    assert as_("cover").post(undo).status_code == 422, "managers alone undo who coaches a student"
    assert as_("manager").post(undo).status_code == 302
    assert [state(row) for row in rows] == before and list(Care.objects.order_by("pk").values()) == cares
    assert [row.sequence for row in rows] == [2, 2]
    assert as_("manager").post(undo).status_code == 422


def test_a_lesson_that_was_changed_since_is_not_overwritten(cast: Cast, as_: Clients) -> None:
    row = book(cast.coach, cast.student, days=8)
    confirm(as_("manager"), *moving(cast))
    Appointment.objects.filter(pk=row.pk).update(status="cancelled")
    answer = as_("manager").post(reverse("correction_undo", args=[cast.student.key, Correction.objects.get().key]))
    assert answer.status_code == 422 and "was changed since" in answer.content.decode()
    assert cast.student.cares.filter(role="main", coach=cast.other_coach).exists()


def test_a_lesson_in_ten_minutes_is_said_and_one_that_has_begun_is_left_alone(cast: Cast, as_: Clients) -> None:
    soon, begun = book(cast.coach, cast.student, days=1 / 144), book(cast.coach, cast.student, days=-1 / 144)
    address, typed = moving(cast)
    page = confirm(as_("manager"), address, typed | {"since": day(0)})
    assert "It begins in 10 minutes: tell them by telephone." in page and "1 coming appointment" in page
    assert state(soon)[0] == cast.other_coach and state(begun)[0] == cast.coach


def test_a_move_in_the_past_or_to_the_same_coach_says_so(cast: Cast, as_: Clients) -> None:
    row = book(cast.coach, cast.student, days=8)
    address, typed = moving(cast)
    for wrong, words in [({"since": day(-1)}, "has passed"), ({"coach": cast.coach.pk}, "not their main coach")]:
        answer = as_("manager").post(address, typed | wrong)
        assert answer.status_code == 422 and words in answer.content.decode()
    assert state(row)[0] == cast.coach


# --- A caseload, second coaches -------------------------------------------------------------------


def test_a_caseload_goes_with_its_lessons_and_comes_back_with_them(cast: Cast, as_: Clients) -> None:
    friend = make_student("Dora Wetherknit", coach=cast.coach)
    assisted = make_student("Ewan Starknot", coach=cast.other_coach)
    make_care(cast.coach, assisted, role="assistant")
    rows = [book(cast.coach, cast.student, friend, days=8), book(cast.coach, friend, days=9)]
    stays, mixed = book(cast.coach, assisted, days=8.5), book(cast.coach, friend, assisted, days=10)
    before = [state(row) for row in [*rows, stays, mixed]]
    confirm(as_("manager"), *handing_over(cast))
    assert [state(row)[0] for row in [*rows, stays]] == [cast.other_coach, cast.other_coach, cast.coach]
    assert state(mixed) == (cast.coach, "planned", {"Ewan Starknot"})
    correction = Correction.objects.get()
    assert str(correction.person) == "Ida Fernkettle" and correction.seen_at
    assert as_("manager").post(reverse("access_undo", args=[correction.key])).status_code == 302
    assert [state(row) for row in [*rows, stays, mixed]] == before
    assert cast.student.cares.get(role="main", until=None).coach == cast.coach


def test_a_covering_coach_takes_the_lessons_of_these_days_or_leaves_them(cast: Cast, as_: Clients) -> None:
    rows = [book(cast.coach, cast.student, days=days) for days in (1, 8, 9, 15)]
    page = confirm(as_("manager"), *covering(cast), **{f"one-{rows[2].key}": "keep"})
    assert re.findall(r'name="appointments" value="(\w+)"', page) == ["move", "cancel", "keep"]
    assert [state(row)[0] for row in rows] == [cast.coach, cast.other_coach, cast.coach, cast.coach]


def test_lessons_of_a_covering_coach_whose_care_ends_go_back_to_the_main_coach(cast: Cast, as_: Clients) -> None:
    row = book(cast.cover, cast.student, days=8)
    page = confirm(as_("coach"), *ending(cast))
    assert "Move to Ida Fernkettle" in page
    assert state(row)[0] == cast.coach and not cast.student.cares.filter(coach=cast.cover, until=None).exists()


# --- Leaving, pausing, closing --------------------------------------------------------------------


def test_who_leaves_has_no_lessons_and_who_comes_back_has_them_again(cast: Cast, as_: Clients) -> None:
    friend = make_student("Dora Wetherknit", coach=cast.coach)
    alone, group = book(cast.coach, cast.student, days=8), book(cast.coach, cast.student, friend, days=9)
    before = [state(alone), state(group)]
    confirm(as_("coach"), *leaving(cast))
    assert state(alone)[1] == "cancelled" and state(group)[1:] == ("planned", {"Dora Wetherknit"})
    address, typed = leaving(cast)
    answer = as_("coach").post(address, typed | {"status": "active"}, follow=True)
    assert "2 appointments are as before." in answer.content.decode()
    assert [state(alone), state(group)] == before and alone.sequence == 2


def test_who_comes_back_to_another_coach_does_not_get_lessons_of_the_old_one(cast: Cast, as_: Clients) -> None:
    row = book(cast.coach, cast.student, days=8)
    confirm(as_("manager"), *leaving(cast))
    as_("manager").post(*moving(cast))
    address, typed = leaving(cast)
    answer = as_("manager").post(address, typed | {"status": "active"}, follow=True)
    assert state(row)[1] == "cancelled" and "1 stays as now" in answer.content.decode()


def test_a_pause_cancels_the_lessons_of_its_days_and_its_end_brings_them_back(cast: Cast, as_: Clients) -> None:
    rows = [book(cast.coach, cast.student, days=days) for days in (1, 8, 9, 15)]
    confirm(as_("coach"), *pausing(cast), **{f"one-{rows[2].key}": "keep"})
    assert [state(row)[1] for row in rows] == ["planned", "cancelled", "planned", "planned"]
    end = reverse("pause_end", args=[cast.student.key, cast.student.pauses.get().key])
    page = as_("coach").post(end, follow=True).content.decode()
    assert "The pause is deleted. 1 appointment is as before." in page
    assert [state(row)[1] for row in rows] == ["planned"] * 4


def test_a_pause_that_ends_today_brings_back_what_comes_after_today(cast: Cast, as_: Clients) -> None:
    rows = [book(cast.coach, cast.student, days=days) for days in (0.1, 8)]
    address, typed = pausing(cast)
    confirm(as_("coach"), address, typed | {"since": day(0)})
    as_("coach").post(reverse("pause_end", args=[cast.student.key, cast.student.pauses.get().key]))
    assert [state(row)[1] for row in rows] == ["cancelled", "planned"]


def test_a_closed_coach_hands_lessons_to_who_has_the_student_and_gets_them_back(cast: Cast, as_: Clients) -> None:
    friend = make_student("Dora Wetherknit", coach=cast.coach)
    rows = [book(cast.coach, cast.student, days=8), book(cast.coach, friend, days=7)]
    before = [state(row) for row in rows]
    address, _ = closing(cast)
    page = as_("manager").get(address).content.decode()
    assert "Hand over the caseload" in page and "2 coming appointments" in page and "It is cancelled." in page
    confirm(as_("manager"), address, {})
    assert state(rows[0])[0] == cast.cover and state(rows[1])[1] == "cancelled"
    answer = as_("manager").post(reverse("person_reopen", args=[cast.coach.user.key]), follow=True)
    assert "2 appointments are as before." in answer.content.decode()
    assert [state(row) for row in rows] == before


def test_lessons_go_on_without_the_account_of_a_student(cast: Cast, as_: Clients) -> None:
    row = book(cast.coach, cast.student, days=8)
    confirm(as_("manager"), reverse("person_close", args=[cast.student.user.key]), {})
    assert state(row)[:2] == (cast.coach, "planned")


# --- Merging --------------------------------------------------------------------------------------


@pytest.fixture
def twin(cast: Cast) -> Student:
    return make_student("A. Quimble", coach=cast.coach, account=False)


def test_a_merge_says_which_lessons_clash_and_undoing_it_brings_all_back(
    cast: Cast, twin: Student, as_: Clients
) -> None:
    own = book(cast.coach, cast.student, days=8)
    both = book(cast.coach, cast.student, twin, days=9)
    theirs = [book(cast.coach, twin, days=8), book(cast.coach, twin, days=10)]
    rows = [own, both, *theirs]
    before = [state(row) for row in rows]
    page = confirm(as_("coach"), *merging(cast), **{f"one-{theirs[0].key}": "cancel"})
    assert "Alder Quimble has an appointment with Ida Fernkettle then, at 12:00." in page
    assert state(theirs[0])[1] == "cancelled"
    assert state(both)[2] == state(theirs[1])[2] == {"Alder Quimble"}
    correction = Correction.objects.get()
    undo = reverse("correction_undo", args=[cast.student.key, correction.key])
    assert as_("coach").post(undo).status_code == 302
    assert [state(row) for row in rows] == before


def test_a_merge_that_waits_for_a_second_person_keeps_what_was_chosen(cast: Cast, twin: Student, as_: Clients) -> None:
    Student.objects.filter(pk=twin.pk).update(birth_year=1980)
    row = book(cast.coach, twin, days=10)
    address, typed = merging(cast)
    page = as_("coach").post(address, typed).content.decode()
    chosen = {**typed, "seen": seen_in(page), "appointments": "cancel"}
    question = as_("coach").post(address, chosen).content.decode()
    assert all(f'name="seen" value="{value}"' in question for value in chosen["seen"])
    answer = as_("coach").post(address, {**chosen, "ask": "1"})
    assert answer.status_code == 302 and state(row)[1] == "planned"
    approval = answer.url.split("/")[-2]
    as_("guardian").post(reverse("approval_decide", args=[approval]), {"decision": "approve"})
    assert state(row)[1:] == ("cancelled", {"Alder Quimble"}) or state(row)[1:] == ("cancelled", {"A. Quimble"})
    twin.refresh_from_db()
    assert twin.merged_into == cast.student


# --- Where it is seen -----------------------------------------------------------------------------


def test_calendars_and_the_students_page_follow(cast: Cast, as_: Clients) -> None:
    """RFC 5545, 3.8.4.7 and 3.8.7.4: one UID for the life of an event, and a SEQUENCE that rises."""
    row = book(cast.coach, cast.student, days=8)

    def events(coach: Coach) -> str:
        found: bytes = calendar_for(coach, Academy.current(), timezone.now(), "x.test", site="https://x.test/")
        return found.decode()

    assert f"UID:{row.key}@x.test" in events(cast.coach)
    confirm(as_("manager"), *moving(cast))
    assert f"UID:{row.key}@x.test" in events(cast.other_coach) and "SEQUENCE:1" in events(cast.other_coach)
    assert as_("guardian").get(reverse("student", args=[cast.student.key])).content.decode().count("Cai Meadowtwine")
    address, typed = leaving(cast)
    confirm(as_("manager"), address, typed)
    assert "STATUS:CANCELLED" in events(cast.other_coach) and "SEQUENCE:2" in events(cast.other_coach)
    page = as_("guardian").get(reverse("student", args=[cast.student.key])).content.decode()
    assert re.search(r"Cancelled:</b>\s*Tuesday 8 December, 12:00, with Cai Meadowtwine", page)


@pytest.mark.parametrize("act", ACTS, ids=lambda act: act.__name__)
def test_a_page_with_many_appointments_asks_at_most_twelve_queries(act: Confirmed, cast: Cast, as_: Clients) -> None:
    rows = everything(cast)
    twin = Student.objects.get(name="A. Quimble")
    for number in range(6):
        for student in (cast.student, twin):
            book(cast.coach, student, days=3 + number / 10)
        book(cast.cover, cast.student, days=4 + number / 10)
    address, typed = act(cast)
    as_("manager").get(reverse("people"))
    with CaptureQueriesContext(connection) as captured:
        assert as_("manager").post(address, typed).status_code == 200
    # A model's form has the database check each of its constraints; that grows with nothing.
    asked = [query for query in captured if "_check" not in query["sql"] and "SAVEPOINT" not in query["sql"]]
    assert rows and len(asked) <= 12, "\n".join(query["sql"][:150] for query in asked)
