"""A walk-in turns out to be a student who is recorded already: the two are merged, and the merge can be undone."""

import re
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Care, Consent, Guardianship, Pause, Student
from coachbook.corrections.models import ApprovalRequest, Correction
from coachbook.diary.models import Absence, Appointment
from coachbook.family.models import Message
from drills.models import Prescription, Round, ScoredTest
from lessons.models import Focus, Lesson
from tests.conftest import Cast
from tests.make import (
    make_care,
    make_consent,
    make_lesson,
    make_pause,
    make_prescription,
    make_student,
    make_test,
)
from tests.test_lesson_move import work_on

Clients = Callable[[str], Client]
KINDS = (Lesson, Focus, Prescription, Care, Guardianship, Consent, Pause, Absence, Message, ScoredTest, Round, Student)


@pytest.fixture
def walk_in(cast: Cast) -> Student:
    """A walk-in with one row of every kind."""
    student = make_student("Alder from the green", coach=cast.coach, account=False, walked_in=True)
    lesson = make_lesson(student, cast.coach, status="complete", completed_at=timezone.now())
    make_prescription(lesson, work_on(lesson, "Soft hands"))
    make_pause(student, since=date(2026, 3, 3))
    day = date(2026, 5, 5)
    student.absences.create(first_day=day, last_day=day, reported_by=cast.coach.user)
    make_consent(student, cast.guardian, purpose="photos")
    make_consent(student, cast.guardian)
    make_test(student, by=cast.coach.user)
    Round.objects.create(student=student, day=date(2026, 5, 4), putts=33, by=cast.coach.user)
    Message.objects.create(student=student, written_by=cast.coach.user, text="See you.")
    return student


def everything() -> list[list[dict[str, Any]]]:
    return [list(kind.objects.order_by("pk").values()) for kind in KINDS]


def merge(client: Client, student: Student, into: Any, **typed: str) -> Any:
    return client.post(reverse("student_merge", args=[student.key]), {"into": into, **typed})


def test_everything_is_recorded_for_one_student(cast: Cast, as_: Clients, walk_in: Student) -> None:
    make_care(cast.other_coach, walk_in, role="assistant", since=date(2026, 1, 1))
    work_on(make_lesson(cast.student, cast.coach, days_ago=9), "Still head")
    answer = merge(as_("coach"), walk_in, cast.student.pk)
    assert answer.status_code == 302 and answer.url == reverse("student", args=[cast.student.key])
    student = cast.student
    assert (student.lessons.count(), student.prescriptions.count(), student.pauses.count()) == (2, 1, 1)
    assert {focus.what: focus.slot for focus in student.focuses.open()} == {"Still head": 1, "Soft hands": 2}
    assert set(student.consents.values_list("purpose", flat=True)) == {"sharing"}, "no consent travels"
    assert walk_in.consents.count() == 2
    assert Message.objects.get().student == student
    assert (student.scored_tests.count(), student.rounds.count(), student.absences.count()) == (1, 1, 1)
    care = student.cares.get(coach=cast.other_coach)
    assert (care.role, care.since) == ("assistant", cast.academy.today(timezone.now()))
    assert student.cares.filter(coach=cast.coach).count() == 1


def test_the_duplicate_is_on_no_list(cast: Cast, as_: Clients, walk_in: Student) -> None:
    merge(as_("coach"), walk_in, cast.student.pk)
    assert walk_in.name not in as_("coach").get(reverse("students")).content.decode()
    for actor in ("coach", "manager"):
        assert as_(actor).get(reverse("student", args=[walk_in.key])).status_code == 404
    assert "See you." not in as_("other_student").get(reverse("home")).content.decode()


def test_undone_both_are_as_they_were(cast: Cast, as_: Clients, walk_in: Student) -> None:
    work_on(make_lesson(cast.student, cast.coach, days_ago=9), "Still head")
    before = everything()
    merge(as_("coach"), walk_in, cast.student.pk)
    assert everything() != before
    undo = reverse("correction_undo", args=[cast.student.key, Correction.objects.get().key])
    assert as_("coach").post(undo).status_code == 302
    assert everything() == before
    assert as_("coach").get(reverse("student", args=[walk_in.key])).status_code == 200


def test_appointments_move_along_and_come_back(cast: Cast, as_: Clients, walk_in: Student) -> None:
    made = {"coach": cast.coach, "made_by": cast.coach.user}
    alone, both = (Appointment.objects.create(starts_at=timezone.now() + timedelta(days=n), **made) for n in (1, 2))
    alone.students.add(walk_in)
    both.students.add(walk_in, cast.student)
    page = as_("coach").get(reverse("student_merge", args=[walk_in.key])).content.decode()
    assert "<li>2 appointments</li>" in page
    listed = merge(as_("coach"), walk_in, cast.student.pk).content.decode()
    assert "1 coming appointment" in listed and cast.student.appointments.get() == both
    address = reverse("student_merge", args=[walk_in.key])
    seen = re.findall(r'name="seen" value="([^"]+)"', listed)
    as_("coach").post(address, {"into": cast.student.pk, "seen": seen, "appointments": "keep"})
    assert set(cast.student.appointments.all()) == {alone, both} and alone.students.get() == cast.student
    as_("coach").post(reverse("correction_undo", args=[cast.student.key, Correction.objects.get().key]))
    assert alone.students.get() == walk_in and both.students.count() == 2


def test_details_fill_only_what_is_empty(cast: Cast, as_: Clients, walk_in: Student) -> None:
    Student.objects.filter(pk=walk_in.pk).update(limits="Sore wrist", putting_grip="Claw", birth_year=2018)
    Student.objects.filter(pk=cast.student.pk).update(putting_grip="Two hands level")
    cast.student.guardianships.all().delete()  # one would be asked about the year of birth
    before = everything()
    merge(as_("coach"), walk_in, cast.student.pk)
    student = Student.objects.get(pk=cast.student.pk)
    assert (student.limits, student.putting_grip, student.birth_year) == ("Sore wrist", "Two hands level", 2018)
    as_("coach").post(reverse("correction_undo", args=[cast.student.key, Correction.objects.get().key]))
    assert everything() == before


def test_the_page_says_what_will_move_before_it_does(cast: Cast, as_: Clients, walk_in: Student) -> None:
    page = as_("coach").get(reverse("student_merge", args=[walk_in.key])).content.decode()
    for words in ("1 lesson", "1 focus", "1 drill given", "1 pause", "1 message"):
        assert f"<li>{words}</li>" in page
    assert "2 consents" not in page and "Consents stay" in page
    assert Student.objects.get(pk=walk_in.pk).merged_into is None


def test_the_account_moves_along_once_a_manager_approves(cast: Cast, as_: Clients) -> None:
    first, into = make_student("Wren", coach=cast.coach), make_student("Wren Ashknot", coach=cast.coach, account=False)
    user = first.user
    assert merge(as_("coach"), first, into.pk).status_code == 200, "the page that says what will be asked"
    assert merge(as_("coach"), first, into.pk, ask="1").status_code == 302
    assert Student.objects.get(user=user) == first
    asked = ApprovalRequest.objects.get()
    as_("manager").post(reverse("approval_decide", args=[asked.key]), {"decision": "approve"})
    assert Student.objects.get(user=user) == into
    undo = reverse("correction_undo", args=[into.key, Correction.objects.get().key])
    as_("coach").post(undo, {"ask": "1"})
    assert Student.objects.get(user=user) == into, "undoing it needs a second person, too"
    asked = ApprovalRequest.objects.get(outcome="")
    as_("manager").post(reverse("approval_decide", args=[asked.key]), {"decision": "approve"})
    assert Student.objects.get(user=user) == first


def test_an_impossible_merge_is_refused_beside_the_field(cast: Cast, as_: Clients, walk_in: Student) -> None:
    coach = as_("coach")
    both = make_student("With an account", coach=cast.coach)
    assert "Both have an account" in str(merge(coach, both, cast.student.pk).context["form"]["into"].errors)
    together = make_student("Same session", coach=cast.coach)
    Lesson.for_student(together, walk_in.lessons.get().session).save()
    full = make_student("Three open", coach=cast.coach)
    for slot in (1, 2, 3):
        work_on(make_lesson(full, cast.coach, days_ago=slot), f"Own {slot}", slot, reason="A clinic")
    before = everything()
    refused = {
        walk_in.pk: "the same student",
        cast.other_student.pk: "Choose a student from the list.",
        together.pk: "the same session",
        full.pk: "four open focuses",
        "no key": "Choose a student from the list.",
    }
    for key, words in refused.items():
        answer = merge(coach, walk_in, key, reason="Kept words")
        assert answer.status_code == 422 and words in str(answer.context["form"]["into"].errors)
        assert "Kept words" in answer.content.decode()
    assert everything() == before


def test_a_third_focus_needs_a_reason(cast: Cast, as_: Clients, walk_in: Student) -> None:
    for slot in (1, 2):
        work_on(make_lesson(cast.student, cast.coach, days_ago=slot), f"Own {slot}", slot)
    refused = merge(as_("coach"), walk_in, cast.student.pk)
    assert refused.status_code == 422 and "needs a reason" in str(refused.context["form"]["reason"].errors)
    assert merge(as_("coach"), walk_in, cast.student.pk, reason="A clinic").status_code == 302


def test_strangers_and_readers_merge_nothing(cast: Cast, as_: Clients, walk_in: Student) -> None:
    for actor, status in [("other_coach", 404), ("past_coach", 404), ("student", 403), ("assistant", 403)]:
        assert merge(as_(actor), cast.student, walk_in.pk).status_code == status
    assert not Correction.objects.exists()


def test_an_assistant_merges_nobody_into_a_student_whom_they_only_teach(cast: Cast, as_: Clients) -> None:
    own = make_student("Alder from the green", coach=cast.assistant, account=False, walked_in=True)
    assert as_("assistant").get(reverse("student", args=[cast.student.key])).status_code == 200
    assert merge(as_("assistant"), own, cast.student.pk).status_code == 422
    assert Student.objects.get(pk=own.pk).merged_into is None
