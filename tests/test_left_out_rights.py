"""What an erasure, an export and the file of the academy leave out: others, what was called off, what is not due."""

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import RecordView, Student
from coachbook.rights.erasure.asking import erase_due
from coachbook.rights.export.gather import pictures_of
from coachbook.rights.models import AcademyFile, ErasureRequest
from tests.conftest import Cast
from tests.make import academy_today, make_lesson, make_picture_consent, make_still, make_still_measure, make_student

Clients = Callable[[str], Client]


@pytest.fixture(autouse=True)
def folders(settings: Any, tmp_path: Path) -> None:
    settings.DATA_DIR = settings.BACKUP_DIR = tmp_path


def asked(student: Student, cast: Cast, days: int = 0, **values: object) -> ErasureRequest:
    """An erasure that a manager asked for, due in so many days."""
    due_on = academy_today() + timedelta(days=days)
    return ErasureRequest.objects.create(
        student=student, asked_by=cast.manager, asked_at=timezone.now(), due_on=due_on, **values
    )


def test_only_what_is_due_agreed_to_and_not_called_off_is_erased(cast: Cast) -> None:
    at = timezone.now()
    students = {name: make_student() for name in ("due", "agreed", "waits", "early", "called off", "merged")}
    asked(students["due"], cast)
    asked(students["agreed"], cast, needs_second=True, agreed_by=cast.guardian, agreed_at=at)
    asked(students["waits"], cast, needs_second=True)
    asked(students["early"], cast, days=1)
    asked(students["called off"], cast, called_off_by=cast.manager, called_off_at=at)
    asked(students["merged"], cast)
    Student.objects.filter(pk=students["merged"].pk).update(merged_into=cast.student)
    assert erase_due(cast.academy, at) == 2
    left = {name for name, student in students.items() if Student.objects.filter(pk=student.pk).exists()}
    assert left == {"waits", "early", "called off", "merged"}


def test_an_erasure_that_was_called_off_is_that_of_this_student(cast: Cast, as_: Clients) -> None:
    off = {"called_off_by": cast.guardian, "called_off_at": timezone.now()}
    asked(cast.other_student, cast, **off)
    planned = asked(cast.student, cast, days=30)
    address = reverse("erasure", args=[cast.student.key])
    for actor in ("guardian", "manager"):
        context = as_(actor).get(address).context
        assert (context["row"], context["called_off"]) == (planned, None), actor
    ErasureRequest.objects.filter(pk=planned.pk).update(**off)
    context = as_("manager").get(address).context
    assert (context["row"], context["called_off"]) == (None, planned)


def test_who_asks_agrees_calls_off_and_carries_out(cast: Cast, as_: Clients) -> None:
    key = cast.student.key
    assert as_("coach").post(reverse("erasure_agree", args=[key])).status_code == 403, "also to nothing"
    row = asked(cast.student, cast, needs_second=True)
    assert as_("coach").get(reverse("erasure", args=[key])).status_code == 403
    for actor in ("coach", "student"):
        for name in ("erasure_ask", "erasure_agree", "erasure_call_off", "erasure_carry_out"):
            assert as_(actor).post(reverse(name, args=[key]), {"sure": "on"}).status_code == 403, (actor, name)
    assert as_("guardian").post(reverse("erasure_carry_out", args=[key])).status_code == 403
    assert as_("manager").post(reverse("erasure_agree", args=[key])).status_code == 403, "who asked agrees alone"
    assert as_("guardian").post(reverse("erasure_agree", args=[key])).status_code == 302
    row.refresh_from_db()
    assert row.agreed_by == cast.guardian and row.called_off_at is None
    assert as_("guardian").post(reverse("erasure_agree", args=[key])).status_code == 403, "it waits for nobody now"
    assert as_("coach").get(reverse("student_export", args=[key])).status_code == 403


def test_pictures_in_a_file_are_shown_ones_of_finished_lessons_of_this_student(cast: Cast, media: Path) -> None:
    done = {"status": "complete", "completed_at": timezone.now()}
    own = make_still(make_lesson(cast.student, cast.coach, **done))
    hidden = make_still(own.lesson)
    make_still(make_lesson(cast.student, cast.coach, days_ago=1))
    make_still(make_lesson(cast.other_student, cast.other_coach, **done))
    type(hidden).objects.filter(pk=hidden.pk).update(hidden_at=timezone.now())
    about = (cast.student, cast.academy, academy_today())
    assert set(pictures_of(*about, family=True).values()) == {own}
    make_picture_consent(cast.student)
    kept = {still.lesson.student for still in pictures_of(*about, family=False).values()}
    assert kept <= {cast.student}


def test_what_was_measured_stands_with_its_own_still(cast: Cast, media: Path) -> None:
    lesson = make_lesson(cast.student, cast.coach)
    first, second = make_still(lesson), make_still(lesson)
    stands, _ = make_still_measure(first), make_still_measure(second)
    away = make_still_measure(first)
    rows = type(away).objects
    rows.filter(pk=away.pk).update(voided_at=timezone.now())
    assert rows.all().by_still([first]) == {first.pk: [stands]}


def test_the_academy_as_a_file_is_for_managers_and_says_whose_records_they_took(cast: Cast, as_: Clients) -> None:
    junior = make_student("Wren Canarybird", birth_year=timezone.now().year - 10)
    for actor in ("coach", "student", "guardian"):
        assert as_(actor).get(reverse("academy_file")).status_code == 403
        assert as_(actor).post(reverse("academy_file_save")).status_code == 403
        assert as_(actor).get(reverse("site_size")).status_code == 403
    assert not AcademyFile.objects.exists()
    assert as_("manager").post(reverse("academy_file_save")).status_code == 200
    assert junior in {row.student for row in RecordView.objects.all()}
