"""What a filter keeps apart: what belongs to another student, or to another day, counts for nothing here."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Consent, Student
from coachbook.loop.sheets.issue import issue_sheet
from lessons.log import focuses_around
from lessons.models import Focus, Lesson
from tests.conftest import Cast
from tests.make import (
    academy_today,
    make_care,
    make_consent,
    make_fault,
    make_guardian,
    make_lesson,
    make_pause,
    make_skill,
    make_student,
)

Clients = Callable[[str], Client]


def page_of(student: Student) -> str:
    return reverse("student", args=[student.key])


def finished(student: Student, cast: Cast, days_ago: int) -> Lesson:
    return make_lesson(student, cast.coach, days_ago=days_ago, status="complete", completed_at=timezone.now())


def test_a_guardian_of_one_child_does_not_see_another(cast: Cast, as_: Clients) -> None:
    other = make_student("Wilf Tarkle", coach=cast.coach)
    make_guardian("Nan Tarkle", other)
    client = as_("guardian")
    assert client.get(page_of(cast.student)).status_code == 200
    assert client.get(page_of(other)).status_code == 404
    assert [student.name for student in client.get(reverse("students")).context["students"]] == [cast.student.name]


def test_one_childs_consent_opens_no_other_child_to_a_second_coach(cast: Cast, as_: Clients) -> None:
    other = make_student("Wilf Tarkle", coach=cast.coach)
    nan = make_guardian("Nan Tarkle", other)
    make_care(cast.cover, other, role="cover")
    assert cast.student.consents.filter(purpose=Consent.Purpose.SHARING, withdrawn_at=None).exists()
    assert as_("cover").get(page_of(other)).status_code == 404
    make_consent(other, nan)
    assert as_("cover").get(page_of(other)).status_code == 200


def test_a_second_coach_sees_an_adult_but_nobody_of_whom_neither_a_year_nor_an_answer_is_known(
    cast: Cast, as_: Clients
) -> None:
    make_care(cast.cover, cast.other_student, role="cover")
    assert as_("cover").get(page_of(cast.other_student)).status_code == 404
    Student.objects.filter(pk=cast.other_student.pk).update(age_group="adult")
    assert as_("cover").get(page_of(cast.other_student)).status_code == 200


def test_a_guardianship_that_ends_tomorrow_holds_today(cast: Cast, as_: Clients) -> None:
    guardianships = cast.student.guardianships.filter(guardian=cast.guardian)
    guardianships.update(ended_on=academy_today() + timedelta(days=1))
    assert as_("guardian").get(page_of(cast.student)).status_code == 200
    guardianships.update(ended_on=academy_today())
    assert as_("guardian").get(page_of(cast.student)).status_code == 404


def test_whom_no_relationship_allows_anything_has_no_students(
    cast: Cast, as_: Clients, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(gate.POLICY, Permission.READ_RECORD, frozenset())
    for actor in ("manager", "coach", "guardian", "student"):
        assert list(as_(actor).get(reverse("students")).context["students"]) == []


def test_each_lesson_leads_to_its_own_sheet(cast: Cast, as_: Clients) -> None:
    lessons = [finished(cast.student, cast, days) for days in (20, 10, 0)]
    sheets = [issue_sheet(lesson=lesson, at=timezone.now()) for lesson in lessons[:2]]
    shown = as_("coach").get(page_of(cast.student)).context["lessons"]
    keys = {lesson.pk: lesson.sheet_key for lesson in shown}
    assert keys == {lessons[0].pk: sheets[0].key, lessons[1].pk: sheets[1].key, lessons[2].pk: None}


def test_a_log_shows_what_was_open_and_what_it_opened_or_closed_and_no_more(cast: Cast) -> None:
    first, second, third = (finished(cast.student, cast, days) for days in (20, 10, 0))
    fault = make_fault(make_skill())
    begun = {"student": cast.student, "area": "putting", "fault": fault}
    Focus.objects.create(**begun, what="before", opened_in=first, closed_in=first, slot=1)
    closed_here = Focus.objects.create(**begun, what="closed here", opened_in=first, closed_in=second, slot=1)
    opened_here = Focus.objects.create(**begun, what="opened here", opened_in=second, closed_in=third, slot=2)
    Focus.objects.create(**begun, what="later", opened_in=third, slot=1)
    assert focuses_around(second) == [closed_here, opened_here]


def test_a_pause_says_whose_it_is_and_why(cast: Cast) -> None:
    assert str(make_pause(cast.student, academy_today())) == "Alder Quimble, injury"
