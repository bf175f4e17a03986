"""A student's one thread: who reads it, and a message sent into it."""

import uuid
from dataclasses import dataclass
from datetime import date, datetime

from django.db import IntegrityError, transaction

from coachbook.accounts.models import Academy, Care, Consent, Student, User
from coachbook.accounts.relationships import Tie, consented, junior, tie_tests
from coachbook.family.models import Message


@dataclass(frozen=True)
class Readers:
    """Everybody who can open a student's thread today, by name; those without an open account cannot."""

    is_junior: bool
    student: list[User]
    guardians: list[User]
    coaches: list[User]
    managers: list[User]

    @property
    def people(self) -> list[User]:
        """Each once, the family first."""
        return list(dict.fromkeys([*self.student, *self.guardians, *self.coaches, *self.managers]))

    @property
    def is_open(self) -> bool:
        """Whether anybody may write: never to or from a junior while no guardian can read it."""
        return not self.is_junior or bool(self.guardians)


def readers_of(student: Student, academy: Academy, on: date) -> Readers:
    """Who reads a student's thread on a day, as the gate lets them in."""
    own = Student.objects.filter(pk=student.pk)
    is_junior = own.filter(junior(academy, on)).exists()
    shared = not is_junior or own.filter(consented(Consent.Purpose.SHARING)).exists()
    cares = student.cares.in_force(on) if shared else student.cares.in_force(on).filter(role=Care.Role.MAIN)
    users = User.objects.filter(is_active=True).order_by("name", "pk")
    guardians = student.guardianships.in_force(on).values("guardian")
    return Readers(
        is_junior,
        student=list(users.filter(pk=student.user_id)) if student.user_id else [],
        guardians=list(users.filter(pk__in=guardians)) if is_junior else [],
        coaches=list(users.filter(coach__in=cares.values("coach"))),
        managers=list(users.filter(is_manager=True)),
    )


def send(*, key: uuid.UUID, student: Student, by: User, words: str, at: datetime) -> Message:
    """Send a message, once: the second of two posts to one address meets the row of the first."""
    try:
        with transaction.atomic():
            return Message.objects.create(key=key, student=student, written_by=by, words=words, written_at=at)
    except IntegrityError:
        return Message.objects.get(key=key)


def has_children(user: User, academy: Academy, on: date) -> bool:
    """Whether a person is the guardian of somebody, today."""
    return Student.objects.present().filter(tie_tests(user, academy, on)[Tie.GUARDIAN]).exists()
