"""How a signed-in person belongs to a student on a day, each way as one condition on the student's row."""

from datetime import date

from django.db import models
from django.db.models import Exists, OuterRef, Q, Value

from coachbook.accounts.models import Academy, Care, Consent, Guardianship, Student, User


class Tie(models.TextChoices):
    """How a signed-in person belongs to a student, or to the academy."""

    ANYONE = "anyone signed in"
    STAFF = "any coach"
    MANAGER = "manager"
    SELF = "the student"
    OF_AGE = "the student, who decides alone"
    GUARDIAN = "guardian"
    MAIN = "main coach"
    COVER = "cover coach"
    ASSISTANT = "assistant coach"


def junior(academy: Academy, on: date) -> Q:
    """Whether somebody else decides for a student: by the year of birth or else by having a guardian."""
    guarded = Exists(Guardianship.objects.filter(student=OuterRef("pk")).in_force(on))
    return Q(birth_year__gte=on.year - academy.adult_at) | (Q(birth_year=None) & Q(guarded))


def consented(purpose: str) -> Exists:
    """Whether a consent for a purpose stands for a student."""
    return Exists(Consent.objects.filter(student=OuterRef("pk"), purpose=purpose, withdrawn_at=None))


def tie_tests(user: User, academy: Academy, on: date) -> dict[Tie, Q]:
    """For each tie the condition, on a student's row, that it holds on a day.

    Who comes of age takes over from their guardians. A second coach sees a junior's record only while somebody who
    decides for the junior consents to sharing it.
    """
    cares = Care.objects.filter(student=OuterRef("pk"), coach__user=user).in_force(on)
    guards = Guardianship.objects.filter(student=OuterRef("pk"), guardian=user).in_force(on)
    themselves = Q(Exists(Student.objects.filter(pk=OuterRef("pk"), user=user)))
    shared = ~junior(academy, on) | Q(consented(Consent.Purpose.SHARING))
    return {
        Tie.SELF: themselves,
        Tie.OF_AGE: themselves & ~junior(academy, on),
        Tie.GUARDIAN: Q(Exists(guards)) & junior(academy, on),
        Tie.MAIN: Q(Exists(cares.filter(role=Care.Role.MAIN))),
        Tie.COVER: Q(Exists(cares.filter(role=Care.Role.COVER))) & shared,
        Tie.ASSISTANT: Q(Exists(cares.filter(role=Care.Role.ASSISTANT))) & shared,
        Tie.MANAGER: Q(Value(user.is_manager, output_field=models.BooleanField())),
    }
