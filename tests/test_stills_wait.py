"""Stills that waited on a phone, on the server's side: each counts once, is of its own day, and a refusal is none."""

import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.core.files.storage import default_storage
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Coach, Consent, Student
from coachbook.outbox.models import Receipt
from lessons.models import Lesson, Still
from tests.make import academy_today, fresh_key, make_academy, make_coach, make_picture_consent, make_student
from tests.test_outbox import send
from tests.test_stills import client_of, sent

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("media")]


@pytest.fixture
def coach() -> Coach:
    make_academy()
    return make_coach("Ida Fernkettle")


@pytest.fixture
def student(coach: Coach) -> Student:
    student = make_student("Emeka Larkwren", coach=coach, birth_year=academy_today().year - 11)
    make_picture_consent(student)
    return student


def send_still(coach: Coach, student: Student, lesson: uuid.UUID, key: uuid.UUID, age: int = 0) -> Any:
    """A still as an outbox sends it: the key of the entry is its own."""
    address = reverse("still", args=[student.key, lesson, key])
    return send(client_of(coach.user), coach.user, address, sent(), key, age)


def test_a_still_counts_once_however_often_it_comes(coach: Coach, student: Student) -> None:
    lesson, key = fresh_key(), fresh_key()
    answers = [send_still(coach, student, lesson, key) for _ in range(3)]
    Receipt.objects.all().delete()  # as where the server was killed between the still and its receipt
    answers.append(send_still(coach, student, lesson, key))
    assert [answer.status_code for answer in answers] == [201, 200, 200, 201]
    to = reverse("stills", args=[student.key, lesson])
    assert {tuple(answer.json().items()) for answer in answers} == {(("key", str(key)), ("to", to))}
    assert Still.objects.get().key == key and len(default_storage.listdir("stills")[1]) == 2


def test_a_still_that_waited_two_days_is_of_the_day_on_which_it_was_taken(coach: Coach, student: Student) -> None:
    before = timezone.now()
    send_still(coach, student, fresh_key(), fresh_key(), age=2 * 24 * 3600)
    waited = before - Still.objects.get().taken_at
    assert abs(waited - timedelta(days=2)) < timedelta(minutes=1)
    assert abs(Lesson.objects.get().session.starts_at - Still.objects.get().taken_at) < timedelta(minutes=1)


def test_a_refusal_is_no_success_and_says_why(coach: Coach, student: Student) -> None:
    lesson = fresh_key()
    send_still(coach, student, lesson, fresh_key())
    Consent.objects.update(withdrawn_at=timezone.now())
    refused = send_still(coach, student, lesson, fresh_key())
    assert (
        refused.status_code == 422 and 'class="care refusal">No picture of Emeka Larkwren' in refused.content.decode()
    )
    Consent.objects.update(withdrawn_at=None)
    Lesson.objects.update(student=make_student(coach=coach))  # moved
    assert send_still(coach, student, lesson, fresh_key()).status_code == 404
    other = make_coach("Jory Pinnock")
    address = reverse("still", args=[student.key, fresh_key(), fresh_key()])
    assert send(client_of(other.user), coach.user, address, sent()).status_code == 401, "in another's name"
    assert Still.objects.count() == Receipt.objects.count() == 1


def test_a_picture_to_come_that_was_noted_before_the_still_takes_nothing_back(coach: Coach, student: Student) -> None:
    lesson, client, note = fresh_key(), client_of(coach.user), fresh_key()
    address = reverse("stills_to_come", args=[student.key, lesson])
    note_it = lambda: send(client, coach.user, address, {"to_come": "1"}, note).status_code  # noqa: E731
    assert note_it() == 201 and Lesson.objects.get().stills_to_come
    send_still(coach, student, lesson, fresh_key())
    assert note_it() == 200 and not Lesson.objects.get().stills_to_come, "it came, and the note only comes again"
    assert Client().post(address, {"to_come": "1"}).status_code != 201
