"""What the pages of practice leave out: drills and reports of others and of other days, and what is over."""

import uuid
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Student
from drills.models import PracticeEntry, Prescription
from drills.practice.paper_days.gather import month_of, months_open
from drills.practice.reports import drill_days, practice_by_student, report_practice
from drills.practice.week.gather import gather_week
from lessons.models import Focus
from tests.conftest import Cast
from tests.make import academy_today, make_drill, make_lesson, make_prescription

Clients = Callable[[str], Client]
Give = Callable[..., Prescription]
HTMX = {"HX-Request": "true"}


@pytest.fixture
def give(cast: Cast) -> Give:
    """Give a drill that began so many days ago, for a focus that was closed since: each in a lesson of its own."""

    def give(
        student: Student | None = None, days_ago: int = 5, status: str = "complete", **values: Any
    ) -> Prescription:
        done = timezone.now() if status == "complete" else None
        lesson = make_lesson(student or cast.student, cast.coach, status=status, completed_at=done)
        about = {"slot": 1, "area": "putting", "what": "Soft hands", "opened_in": lesson, "closed_in": lesson}
        focus = Focus.objects.create(student=lesson.student, **about)
        begins = values.pop("begins", academy_today() - timedelta(days=days_ago))
        return make_prescription(lesson, focus, begins=begins, review_on=begins + timedelta(days=30), **values)

    return give


def report(given: Prescription, days_ago: int = 0, **values: Any) -> PracticeEntry:
    """A report of a drill so many days ago."""
    day = academy_today() - timedelta(days=days_ago)
    return PracticeEntry.objects.create(prescription=given, **{"day": day, "amount": 7, **values})


# --- Practice -------------------------------------------------------------------------------------


def test_a_student_is_shown_what_is_to_be_practised_today_by_them(give: Give, cast: Cast, as_: Clients) -> None:
    own = give()
    give(cast.other_student)
    give(status="draft")
    give(days_ago=-1)
    give(ended_on=academy_today())
    cards = as_("student").get(reverse("today", args=[cast.student.key])).context["cards"]
    assert [card["day"].prescription for card in cards] == [own]
    assert gather_week(cast.student, academy_today()).given == [own]
    sums = practice_by_student([cast.student], academy_today())
    assert (set(sums), sums[cast.student.pk].asked) == ({cast.student.pk}, 2), "six days at 3 a week, of one drill"


def test_reports_that_are_shown_are_of_this_drill_of_these_weeks_and_not_undone(give: Give, cast: Cast) -> None:
    own, on = give(days_ago=20), academy_today()
    shown = [report(own, 2), report(own, 20, reported_on=on), report(own)]
    report(own, 1, is_void=True)
    report(own, 15)
    report(own, -1)
    report(own, 16, reported_on=on - timedelta(days=15))
    report(give(cast.other_student))
    [day] = drill_days([own], on)
    assert {each.key for each in day.reports} == {each.key for each in shown}
    assert practice_by_student([cast.student], on)[cast.student.pk].reported == 5
    week = gather_week(cast.student, on)
    assert {each.pk for each in week.entries} == {shown[0].pk, shown[2].pk}


def test_a_card_counts_the_week_of_the_drills_that_are_in_force(give: Give) -> None:
    own, on = give(days_ago=6), academy_today()
    give(days_ago=3, status="draft")
    give(days_ago=2, ended_on=on)
    [day] = drill_days([own], on)
    assert day.week_begins == own.begins
    give(days_ago=4)
    [day] = drill_days([own], on)
    assert day.week_begins == on - timedelta(days=4)


def test_a_score_is_held_against_those_of_the_same_student_in_the_same_drill(give: Give, cast: Cast) -> None:
    drill, on = make_drill(mark="16 putts or fewer."), academy_today()
    own, theirs = give(drill=drill), give(cast.other_student, drill=drill)
    report(own, 3, score=20)
    report(own, 2)  # without a score
    report(own, 1, score=11, is_void=True)
    report(own, -1, score=12)
    report(theirs, 2, score=13)
    report(give(drill=make_drill()), 2, score=14)
    days = {day.prescription: day for day in drill_days([own, theirs], on)}
    assert [each.score for each in days[own].scores.scores] == [20]  # type: ignore[union-attr]


def test_a_mark_is_set_for_a_drill_of_this_student_that_is_in_force(give: Give, cast: Cast, as_: Clients) -> None:
    drill = make_drill(mark="8 of 10 drop.")
    own, over, theirs = give(drill=drill), give(drill=drill, ended_on=academy_today()), give(cast.other_student)
    for row in (own, over, theirs):
        for days_ago in (0, 1, 2):
            report(row, days_ago, score=9, score_of=10)
    for key in (over.key, theirs.key, uuid.uuid4()):
        address = reverse("practice_mark", args=[cast.student.key, key])
        assert as_("coach").post(address, {"mark": "9 of 10 drop."}).status_code == 404
    assert not Prescription.objects.exclude(mark="").exists()
    address = reverse("practice_mark", args=[cast.student.key, own.key])
    for actor, status in [("student", 403), ("guardian", 403), ("manager", 403), ("coach", 302)]:
        assert as_(actor).post(address, {"mark": "9 of 10 drop."}).status_code == status, actor
    own.refresh_from_db()
    assert own.mark == "9 of 10 drop."


def test_a_drill_is_practised_that_is_this_students_and_takes_reports(give: Give, cast: Cast, as_: Clients) -> None:
    on = academy_today()
    own, lately = give(), give(days_ago=30, ended_on=on - timedelta(days=13))
    no = [
        give(cast.other_student),
        give(status="draft"),
        give(days_ago=-1),
        give(days_ago=40, ended_on=on - timedelta(days=14)),
        give(days_ago=3, ended_on=on - timedelta(days=3)),
    ]
    client = as_("student")
    for key, status in [(own.key, 302), (lately.key, 302), *((row.key, 404) for row in no), (uuid.uuid4(), 404)]:
        assert client.get(reverse("practice_doing", args=[cast.student.key, key])).status_code == status
        if status == 404:
            address = reverse("practice_report", args=[cast.student.key, key, uuid.uuid4()])
            assert client.post(address, {"day": on, "amount": "5"}).status_code == 404
    for actor in ("coach", "manager"):
        assert as_(actor).get(reverse("practice_doing", args=[cast.student.key, own.key])).status_code == 403


def test_a_report_is_undone_that_is_of_this_drill_and_of_late(give: Give, cast: Cast, as_: Clients) -> None:
    own, theirs, on = give(days_ago=30), give(cast.other_student), academy_today()
    filled_in, old = report(own, 20, reported_on=on), report(own, 20, reported_on=on - timedelta(days=15))
    draft, later = give(status="draft"), give(days_ago=-1)
    entries = [old, report(theirs), report(draft), report(later)]
    for given, entry in [(own, old), (own, entries[1]), *((each.prescription, each) for each in entries[1:])]:
        address = reverse("practice_void", args=[cast.student.key, given.key, entry.key])
        assert as_("student").post(address).status_code == 404
    assert not PracticeEntry.objects.filter(is_void=True).exists()
    assert (
        as_("student").post(reverse("practice_void", args=[cast.student.key, own.key, filled_in.key])).status_code
        == 303
    )


def test_only_a_report_of_this_drill_on_this_day_that_stands_is_asked_about(
    give: Give, cast: Cast, as_: Clients
) -> None:
    own, second, theirs = give(), give(), give(cast.other_student)
    report(own, is_void=True)
    report(own, 1)
    for row in (second, theirs):
        report(row)
    address = reverse("practice_report", args=[cast.student.key, own.key, uuid.uuid4()])
    assert as_("student").post(address, {"day": academy_today(), "amount": "5"}, headers=HTMX).status_code == 201
    about = {"source": "student", "on": academy_today(), "day": academy_today(), "amount": 5, "another": True}
    with pytest.raises(IntegrityError), transaction.atomic():
        report_practice(prescription=own, key=theirs.entries.get().key, **about)


def test_boxes_of_a_month_are_of_drills_that_were_in_force_in_it(give: Give, cast: Cast, as_: Clients) -> None:
    last, this = months_open(academy_today())
    own, ended = give(begins=last), give(begins=last - timedelta(days=9), ended_on=last + timedelta(days=1))
    give(cast.other_student, begins=last)
    give(begins=last, status="draft")
    give(begins=last - timedelta(days=9), ended_on=last)
    give(begins=last + timedelta(days=2), ended_on=last + timedelta(days=2))
    later = give(begins=this)
    report(own, day=last)
    report(own, day=last + timedelta(days=1), is_void=True)
    report(own, day=this)
    report(ended, day=last - timedelta(days=1))
    report(Prescription.objects.get(student=cast.other_student), day=last)
    address = reverse("practice_month", args=[cast.student.key, last.year, last.month])
    month = as_("student").get(address).context["month"]
    assert list(month.given) == [ended, own] and month.reported == {(own.pk, last)}
    assert list(month_of(cast.student, this, academy_today()).given) == [own, later]
    for actor in ("coach", "manager"):
        assert as_(actor).get(address).status_code == 403
    early = (last - timedelta(days=1)).replace(day=1)
    address = reverse("practice_month", args=[cast.student.key, early.year, early.month])
    assert as_("student").get(address).status_code == 404


def test_who_reports_practice_and_picks_its_days(give: Give, cast: Cast, as_: Clients) -> None:
    give()
    key = cast.student.key
    for actor, reports, sets_marks in [
        ("student", True, False),
        ("guardian", True, False),
        ("coach", False, True),
        ("manager", False, False),
    ]:
        today = as_(actor).get(reverse("today", args=[key])).context
        assert (today["may_report"], today["may_set_mark"]) == (reports, sets_marks), actor
        assert as_(actor).get(reverse("practice_week", args=[key])).context["may_pick"] is reports, actor
        answer = as_(actor).post(reverse("practice_days", args=[key]), {"days": ["0", "2"], "minutes": "20"})
        assert answer.status_code == (303 if reports else 403), actor
