"""A student's week of practice: what stands on each day, the days that they pick, and what the coach reads of it."""

import re
import uuid
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from coachbook.accounts.models import Student
from coachbook.corrections.merge import merge_students
from drills.models import Drill, PracticeDays, PracticeEntry, Prescription
from drills.practice.prescribe import replace_prescriptions
from drills.practice.reports import drill_days
from drills.practice.week.gather import gather_week, lay_out
from lessons.models import Focus, Lesson
from tests.conftest import Cast
from tests.make import academy_today, make_drill, make_lesson, make_prescription, make_student, this_time

Clients = Callable[[str], Client]
Give = Callable[..., Prescription]
DAYS = timedelta(days=1)


@pytest.fixture
def on(cast: Cast) -> date:
    return academy_today()


@pytest.fixture
def lesson(cast: Cast) -> Lesson:
    """A finished lesson of two days ago."""
    at = this_time(days_ago=2)
    lesson = make_lesson(cast.student, cast.coach, status="complete", completed_at=at)
    lesson.session.starts_at = at
    lesson.session.save()
    return lesson


@pytest.fixture
def give(cast: Cast, lesson: Lesson, on: date) -> Give:
    """Give a drill in that lesson, each for a focus of its own."""

    def give(name: str = "Gate", begins: date | None = None, **values: Any) -> Prescription:
        slot = lesson.prescriptions.count() + 1
        about = {"student": cast.student, "slot": slot, "reason": "x", "area": "putting", "what": f"For {name}"}
        focus = Focus.objects.create(opened_in=lesson, **about)
        drill = make_drill(name=name, **{key: values.pop(key) for key in ("minutes",) if key in values})
        return make_prescription(lesson, focus, drill=drill, begins=begins or on - 2 * DAYS, **values)

    return give


def address(student: Student) -> str:
    return reverse("practice_week", args=[student.key])


def pick(client: Client, student: Student, **typed: Any) -> Any:
    return client.post(reverse("practice_days", args=[student.key]), typed)


def words_of(answer: Any) -> str:
    text = re.sub(r"<[^>]+>", " ", answer.content.decode())
    return re.sub(r"\s+", " ", text).replace(" :", ":").replace(" ,", ",")


def read(client: Client, student: Student) -> str:
    answer = client.get(address(student))
    assert answer.status_code == 200
    return words_of(answer)


def day_of_page(page: str, day: date) -> str:
    """What the page says of a day."""
    heading, following = (f"{each:%A} {each.day} {each:%B}" for each in (day, day + DAYS))
    return page.split(heading)[1].split(following)[0]


# --- The week -----------------------------------------------------------------------------------


def test_a_week_shows_what_was_reported_what_moved_and_what_is_planned(
    give: Give, on: date, cast: Cast, as_: Clients
) -> None:
    """Two days ago the lesson, with two drills three times a week; the first was done, the second not."""
    first, _ = give("Gate"), give("Ladder", unit="balls", amount=30, minutes=12)
    PracticeEntry.objects.create(prescription=first, day=on - 2 * DAYS, amount=15)
    page = read(as_("student"), cast.student)
    assert "Gate: reported, 15 minutes." in day_of_page(page, on - 2 * DAYS)
    assert "Ladder: moved to" in day_of_page(page, on - 2 * DAYS)
    today = day_of_page(page, on)
    assert (
        "Gate: 10 minutes." in today and "Ladder: 30 balls, about 12 minutes." in today and "22 minutes in all" in today
    )
    assert f"Today, {on:%A} {on.day} {on:%B}" in page
    assert f"runs from {on - 2 * DAYS:%A} to {on + 4 * DAYS:%A}" in page
    assert re.findall(r"\b(?:missed|late|failed|fault)\b", page, re.IGNORECASE) == []
    before_today = page.split("Earlier this week")[1].split("Today,")[0]
    assert "Gate: reported" in before_today, "the days that are over wait behind a line, so that today stands on top"


def test_it_begins_with_the_newest_drill_and_says_why(give: Give, on: date, cast: Cast, as_: Clients) -> None:
    give("Gate", begins=on - 9 * DAYS)
    assert "the weekday on which the drills came" in read(as_("student"), cast.student)
    give("Ladder", begins=on - 1 * DAYS)
    page = read(as_("student"), cast.student)
    assert "the weekday on which the newest drill came" in page
    assert f"runs from {on - 1 * DAYS:%A} to {on + 5 * DAYS:%A}" in page


def test_today_counts_the_week_of_the_week_page(give: Give, on: date, cast: Cast, as_: Clients) -> None:
    """The older drill's own week began two days ago; the newest drill came yesterday, and so did the week."""
    old, _ = give("Gate", begins=on - 9 * DAYS), give("Ladder", begins=on - 1 * DAYS)
    PracticeEntry.objects.create(prescription=old, day=on - 2 * DAYS, amount=10)
    student = as_("student")
    today = words_of(student.get(reverse("today", args=[cast.student.key])))
    ends = f"This week of practice ends on {on + 5 * DAYS:%A}."
    assert today.count("0 of 3 this week") == 2 and today.count(ends) == 2
    page = read(student, cast.student)
    assert "reported," not in page and "Today counts the same week" in page
    done = reverse("practice_report", args=[cast.student.key, old.key, uuid.uuid4()])
    card = words_of(student.post(done, headers={"HX-Request": "true"}))
    assert "1 of 3 this week" in card and ends in card
    assert "Gate: reported, 10 minutes." in day_of_page(read(student, cast.student), on)


def test_a_drill_that_is_over_counts_its_own_week(give: Give, on: date) -> None:
    """No drill is in force, so there is no other week to count."""
    given = give("Gate", begins=on - 9 * DAYS, ended_on=on)
    [day] = drill_days([given], on)
    assert day.week_ends == on + 4 * DAYS


def test_names_are_those_of_the_side_of_the_lesson(give: Give, lesson: Lesson, cast: Cast, as_: Clients) -> None:
    give("{Lead} hand only")
    assert "Left hand only" in read(as_("student"), cast.student)
    lesson.putting_side = "left"
    lesson.save()
    assert "Right hand only" in read(as_("student"), cast.student)


def test_one_drill_that_is_given_for_two_things_is_told_apart_by_its_feel(give: Give, cast: Cast, as_: Clients) -> None:
    first, second = give(feel="Hear a click."), give(feel="Stay on the {lead} foot")
    Prescription.objects.filter(pk=second.pk).update(drill=first.drill)
    page = read(as_("student"), cast.student)
    assert "Gate (Hear a click)" in page and "Gate (Stay on the left foot)" in page
    Prescription.objects.filter(pk=second.pk).delete()
    assert "Gate (" not in read(as_("student"), cast.student)


def test_without_a_drill_the_week_is_free(cast: Cast, as_: Clients) -> None:
    assert "No drill is given now, so the week is free." in read(as_("student"), cast.student)


def test_a_drill_whose_focus_was_closed_stands_in_no_week(
    give: Give, on: date, lesson: Lesson, cast: Cast, as_: Clients
) -> None:
    given = give("Gate")
    closing = make_lesson(cast.student, cast.coach, status="complete", completed_at=this_time(days_ago=0))
    closing.session.starts_at = this_time(days_ago=0)
    closing.session.save()
    given.focus.closed_in = closing
    given.focus.save()
    replace_prescriptions(lesson=closing, academy=cast.academy)
    assert "Gate" not in read(as_("student"), cast.student)


def test_an_undone_report_and_one_of_another_week_do_not_count(give: Give, on: date, cast: Cast) -> None:
    given = give()
    PracticeEntry.objects.create(prescription=given, day=on - 2 * DAYS, amount=10, is_void=True)
    PracticeEntry.objects.create(prescription=given, day=on - 3 * DAYS, amount=10)
    assert gather_week(cast.student, on).done == [set()]


def test_what_today_asks_for_comes_in_the_order_of_the_sheet(give: Give, on: date, lesson: Lesson, cast: Cast) -> None:
    """Focuses of the latest lesson come first; what was reported today is no longer to do."""
    old, new = give("Old", begins=on - 9 * DAYS), give("New")
    earlier = make_lesson(cast.student, cast.coach, days_ago=90, status="complete", completed_at=this_time(days_ago=9))
    old.focus.opened_in = old.lesson = earlier
    old.focus.save()
    old.save()
    assert lay_out([old, new], {}, on).planned_on(on) == [new, old]
    assert lay_out([old, new], {new.pk: [on]}, on).planned_on(on) == [old]
    assert lay_out([old, new], {new.pk: [on]}, on).today_first == [old, new]


def test_a_week_costs_no_more_with_more_drills_and_reports(give: Give, on: date, cast: Cast, as_: Clients) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as captured:
            read(guardian, cast.student)
        return len(captured)

    guardian, given = as_("guardian"), give()
    PracticeDays.objects.create(student=cast.student, monday=True)
    queries()
    few = queries()
    for name in ("Ladder", "Clock"):
        given = give(name)
        for ago in range(3):
            PracticeEntry.objects.create(prescription=given, day=on - ago * DAYS, amount=10)
    assert queries() == few <= 12


# --- The days that are picked -------------------------------------------------------------------


@pytest.mark.history
def test_a_student_or_a_guardian_picks_days_and_each_change_is_kept(
    give: Give, on: date, cast: Cast, as_: Clients
) -> None:
    others = PracticeDays.objects.create(student=cast.other_student, friday=True)
    give(per_week=1)
    assert "Nobody has picked days yet." in read(as_("student"), cast.student)
    tomorrow, later = ((on + ahead * DAYS).weekday() for ahead in (1, 3))
    for _ in range(2):
        assert pick(as_("student"), cast.student, days=[tomorrow], minutes="20").status_code == 303
    page = read(as_("student"), cast.student)
    assert "Gate: 10 minutes." in day_of_page(page, on + DAYS) and "Nobody has picked" not in page
    assert pick(as_("guardian"), cast.student, days=[later], minutes="").status_code == 303
    assert "Gate: 10 minutes." in day_of_page(read(as_("coach"), cast.student), on + 3 * DAYS)
    kept = PracticeDays.history.filter(student=cast.student).order_by("history_id")
    assert [(row.minutes, row.history_user) for row in kept] == [(20, cast.student.user), (None, cast.guardian)]
    others.refresh_from_db()
    assert others.weekdays == [4]


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"days": [0], "minutes": "0"}, "Type a whole number of minutes, from 5 to 240, or leave it empty."),
        ({"days": [0], "minutes": "1000"}, "Type a whole number of minutes, from 5 to 240, or leave it empty."),
        ({"days": [0], "minutes": "soon"}, "Type a whole number of minutes, from 5 to 240, or leave it empty."),
        ({"minutes": "20"}, "Pick at least one day."),
        ({"days": [7], "minutes": "20"}, "Pick days of the week."),
        ({"days": ["Monday"], "minutes": "20"}, "Pick days of the week."),
    ],
)
def test_days_that_cannot_be_are_refused_with_what_was_typed_still_there(
    typed: dict[str, Any], says: str, give: Give, cast: Cast, as_: Clients
) -> None:
    give()
    answer = pick(as_("student"), cast.student, **typed)
    assert answer.status_code == 422 and says in words_of(answer)
    assert f'value="{typed["minutes"]}"' in answer.content.decode()
    assert not PracticeDays.objects.exists()


def test_the_database_refuses_a_week_without_a_day_and_minutes_that_cannot_be(cast: Cast) -> None:
    for values in ({}, {"monday": True, "minutes": 4}, {"monday": True, "minutes": 241}):
        with pytest.raises(IntegrityError), transaction.atomic():
            PracticeDays.objects.create(student=cast.student, **values)


def test_what_is_known_of_a_student_is_where_the_days_begin(give: Give, on: date, cast: Cast) -> None:
    Student.objects.filter(pk=cast.student.pk).update(practice_days=2, practice_minutes=15)
    cast.student.refresh_from_db()
    give()
    assert gather_week(cast.student, on).room == [15, 0, 0, 15, 0, 0, 0]


def test_where_nobody_picked_days_a_session_moves_to_any_day(give: Give, on: date, cast: Cast) -> None:
    """Three times a week on days 0, 2 and 4: the one of day 0 moves to a day that was free."""
    give()
    week = gather_week(cast.student, on)
    assert week.room[:5] == [1440, 0, 1440, 0, 1440] and len(week.now.plan[0]) == 3


def test_a_merge_takes_the_days_along_unless_the_other_student_picked_some(cast: Cast) -> None:
    """One row a student: of two, that of the student who stays."""
    PracticeDays.objects.create(student=cast.other_student, friday=True)
    for day in ("monday", "tuesday"):
        duplicate = make_student("Alder Q.", account=False, coach=cast.coach)
        PracticeDays.objects.create(student=duplicate, **{day: True})
        about: dict[str, Any] = {
            "reason": "typed twice",
            "by": cast.manager,
            "at": this_time(days_ago=0),
            "on": academy_today(),
        }
        merge_students(duplicate=duplicate, into=cast.student, **about)
        assert PracticeDays.objects.get(student=cast.student).weekdays == [0]


# --- What has no room ---------------------------------------------------------------------------


def test_the_drill_that_gives_way_is_named_to_the_student_and_in_the_brief(
    give: Give, on: date, cast: Cast, as_: Clients
) -> None:
    give("Gate"), give("Ladder")
    coach, brief = as_("coach"), reverse("brief", args=[cast.student.key])
    assert "does not fit" not in words_of(coach.get(brief))
    pick(as_("student"), cast.student, days=[0, 2, 4], minutes="10")
    page = read(as_("student"), cast.student)
    assert "These days have no room for everything." in page and "Ladder gives way: 0 of 3 times a week." in page
    answer = coach.get(brief)
    assert "The week does not fit: Ladder (0 of 3) gives way." in words_of(answer)
    assert f'href="{address(cast.student)}"' in answer.content.decode()
    assert f'href="{address(cast.student)}"' in coach.get(reverse("student", args=[cast.student.key])).content.decode()


def test_a_drill_that_takes_more_than_any_day_has_says_so(give: Give, cast: Cast, as_: Clients) -> None:
    give("Gate", amount=40)
    pick(as_("student"), cast.student, days=[0, 1, 2, 3], minutes="30")
    assert "Gate gives way: it takes 40 minutes, and no day has as many." in read(as_("coach"), cast.student)


def test_what_has_no_room_after_days_that_went_otherwise_is_let_go_without_blame(
    give: Give, on: date, cast: Cast, as_: Clients
) -> None:
    """The last days of a week have no room for what the first ones left, and the asks fit all the same."""
    give("Gate", begins=on - 6 * DAYS, per_week=7)
    week = gather_week(cast.student, on)
    assert week.gives_way == [] and len(week.now.moved) == 6
    page = read(as_("student"), cast.student)
    assert "Gate: not reported." in day_of_page(page, on - 6 * DAYS)
    assert "has no room for all of Gate. That is all right" in page


def test_each_unit_has_its_minutes(give: Give, on: date, cast: Cast) -> None:
    for unit in Drill.Unit.values:
        give(unit, unit=unit, amount=25, minutes=9)
    assert [ask.minutes for ask in gather_week(cast.student, on).asks] == [25, 9, 9]
