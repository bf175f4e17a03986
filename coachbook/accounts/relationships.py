"""The relationship of a signed-in person to a student on a day, each as one condition on the student's row."""

from datetime import date

from django.db import models
from django.db.models import Exists, OuterRef, Q, Value

from coachbook.accounts.models import Academy, Care, Consent, Guardianship, Student, User


class Relationship(models.TextChoices):
    """What a signed-in person is to a student, or to the academy."""

    SIGNED_IN = "anyone signed in"
    ANY_COACH = "any coach"
    MANAGER = "manager"
    SELF = "the student"
    ADULT_SELF = "the student, who is of age"
    GUARDIAN = "guardian"
    MAIN_COACH = "main coach"
    COVERING_COACH = "covering coach"
    ASSISTANT_COACH = "assistant coach"


def junior_condition(academy: Academy, on: date) -> Q:
    """Whether somebody else decides for a student: by the year of birth, or else by having a guardian."""
    has_guardian = Exists(Guardianship.objects.filter(student=OuterRef("pk")).in_force(on))
    return Q(birth_year__gte=on.year - academy.adult_at) | (Q(birth_year=None) & Q(has_guardian))


def consent_condition(purpose: str) -> Exists:
    """Whether a student has a consent for a purpose that nobody has withdrawn."""
    return Exists(Consent.objects.filter(student=OuterRef("pk"), purpose=purpose, withdrawn_at=None))


def relationship_conditions(user: User, academy: Academy, on: date) -> dict[Relationship, Q]:
    """For each relationship the condition, on a student's row, that it holds on a day.

    A student who comes of age takes over from their guardians. A second coach sees a junior's record only while
    somebody who decides for the junior consents to sharing it.
    """
    cares = Care.objects.filter(student=OuterRef("pk"), coach__user=user).in_force(on)
    guardianships = Guardianship.objects.filter(student=OuterRef("pk"), guardian=user).in_force(on)
    is_self = Q(Exists(Student.objects.filter(pk=OuterRef("pk"), user=user)))
    is_junior = junior_condition(academy, on)
    is_shared = ~is_junior | Q(consent_condition(Consent.Purpose.SHARING))
    return {
        Relationship.SELF: is_self,
        Relationship.ADULT_SELF: is_self & ~is_junior,
        Relationship.GUARDIAN: Q(Exists(guardianships)) & is_junior,
        Relationship.MAIN_COACH: Q(Exists(cares.filter(role=Care.Role.MAIN))),
        Relationship.COVERING_COACH: Q(Exists(cares.filter(role=Care.Role.COVER))) & is_shared,
        Relationship.ASSISTANT_COACH: Q(Exists(cares.filter(role=Care.Role.ASSISTANT))) & is_shared,
        Relationship.MANAGER: Q(Value(user.is_manager, output_field=models.BooleanField())),
    }
