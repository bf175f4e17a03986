"""A student's one thread of messages: who reads it, and sending a message to it."""

import uuid
from dataclasses import dataclass
from datetime import date, datetime

from django.db import IntegrityError, transaction

from coachbook.accounts.models import Academy, Care, Consent, Student, User
from coachbook.accounts.relationships import (
    Relationship,
    Viewer,
    junior_condition,
    junior_consent_condition,
    relationship_conditions,
)
from coachbook.family.models import Message
from drills.models import PracticeEntry


@dataclass(frozen=True)
class Readers:
    """Everybody with an open account who may read a student's thread, by name."""

    is_junior: bool
    student: list[User]
    guardians: list[User]
    coaches: list[User]
    managers: list[User]

    @property
    def people(self) -> list[User]:
        """Each person once, the family first."""
        return list(dict.fromkeys([*self.student, *self.guardians, *self.coaches, *self.managers]))

    @property
    def is_open(self) -> bool:
        """Whether messages may be sent: not to or from a junior while no guardian can read them."""
        return not self.is_junior or bool(self.guardians)


def readers_of(student: Student, academy: Academy, on: date) -> Readers:
    """Who may read a student's thread on a day, by the rules of the gate."""
    own = Student.objects.filter(pk=student.pk)
    is_junior = own.filter(junior_condition(academy, on)).exists()
    is_shared = not is_junior or own.filter(junior_consent_condition(Consent.Purpose.SHARING, on)).exists()
    cares = student.cares.in_force(on) if is_shared else student.cares.in_force(on).filter(role=Care.Role.MAIN)
    users = User.objects.filter(is_active=True).order_by("name", "pk")
    guardians = student.guardianships.in_force(on).values("guardian")
    return Readers(
        is_junior,
        student=list(users.filter(pk=student.user_id)) if student.user_id else [],
        guardians=list(users.filter(pk__in=guardians)) if is_junior else [],
        coaches=list(users.filter(coach__in=cares.values("coach"))),
        managers=list(users.filter(is_manager=True)),
    )


def send_message(
    *, key: uuid.UUID, student: Student, by: User, text: str, at: datetime, answers: PracticeEntry | None = None
) -> Message:
    """Send a message once: a second post to the same address returns the message of the first."""
    about = {"student": student, "written_by": by, "written_at": at, "answers": answers}
    try:
        with transaction.atomic():
            return Message.objects.create(key=key, text=text, **about)
    except IntegrityError:
        return Message.objects.get(key=key)


def has_children(user: User, academy: Academy, on: date) -> bool:
    """Whether a person is the guardian of somebody, today."""
    return (
        Student.objects.present()
        .filter(relationship_conditions(Viewer.of(user), academy, on)[Relationship.GUARDIAN])
        .exists()
    )
