"""Who is what to a student, one rule at a time and each by the answer that a person gets.

The matrix asks every address as everybody; here a single row differs from what lets a person in.
"""

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from coachbook.accounts.models import RecordView, Student, User
from tests.conftest import Cast
from tests.make import make_consent, make_guardian

Clients = Callable[[str], Client]


def answer(client: Client, student: Student) -> int:
    """What a person who asks for a page of this student is answered."""
    return client.get(reverse("consents", args=[student.key])).status_code


def test_a_guardian_of_one_child_is_a_stranger_to_every_other(cast: Cast, as_: Clients) -> None:
    guardian = as_("guardian")
    assert answer(guardian, cast.student) == 200
    assert answer(guardian, cast.other_student) == 404


@pytest.mark.parametrize("actor", ["cover", "assistant"])
def test_a_second_coach_sees_a_junior_only_once_a_guardian_consents(actor: str, cast: Cast, as_: Clients) -> None:
    """That the junior has a guardian is not enough."""
    cast.student.consents.all().delete()
    second = as_(actor)
    assert answer(second, cast.student) == 404
    make_consent(cast.student, cast.guardian)
    assert answer(second, cast.student) == 200


def test_a_consent_does_not_count_by_the_guardian_of_another_child(cast: Cast, as_: Clients) -> None:
    make_guardian("Wren Ashknot", cast.other_student)
    second = as_("cover")
    assert answer(second, cast.student) == 200
    cast.student.guardianships.all().delete()
    assert answer(second, cast.student) == 404


@pytest.mark.parametrize("age_group", ["", "child"])
def test_a_known_year_of_birth_says_who_is_an_adult(age_group: str, cast: Cast, as_: Clients) -> None:
    """Whatever was ticked before the year was known: guardians no longer decide, nor need they consent."""
    Student.objects.filter(pk=cast.student.pk).update(birth_year=1980, age_group=age_group)
    cast.student.consents.all().delete()
    assert answer(as_("guardian"), cast.student) == 404
    assert answer(as_("cover"), cast.student) == 200


def test_that_a_manager_read_a_juniors_record_is_noted_at_the_gate(cast: Cast, as_: Clients) -> None:
    assert answer(as_("manager"), cast.student) == 200
    assert RecordView.objects.get().student == cast.student


def test_a_guardian_whose_account_is_closed_is_no_guardian(cast: Cast, as_: Clients) -> None:
    """A consent no longer counts where no guardian is left who could withdraw it."""
    second = as_("cover")
    assert answer(second, cast.student) == 200
    User.objects.filter(guardianships__student=cast.student).update(is_active=False)
    assert answer(second, cast.student) == 404


def test_what_somebody_is_at_the_academy(cast: Cast) -> None:
    guardian = cast.student.guardianships.latest("pk").guardian
    people = (cast.manager, cast.coach.user, cast.student.user, guardian)
    assert [person.role for person in people if person] == ["manager", "coach", "student", "guardian"]
