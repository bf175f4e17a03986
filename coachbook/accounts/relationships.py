"""The relationship of a signed-in person to a student on a day, each as one condition on the student's row."""

from dataclasses import dataclass
from datetime import date

from django.db import models
from django.db.models import Exists, F, OuterRef, Q, Value

from coachbook.accounts.models import Academy, Care, Consent, Guardianship, Student, User

# Stood in the text of the consent until pictures were kept.
KEEPS_NONE = "This site keeps none of them."


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


@dataclass(frozen=True)
class Viewer:
    """What of a signed-in person decides how they may be related to a student."""

    pk: int
    is_manager: bool
    is_coach: bool
    is_student: bool

    @classmethod
    def of(cls, user: User) -> "Viewer":
        """The same of a user."""
        return cls(user.pk, user.is_manager, user.is_coach, hasattr(user, "student"))


def junior_condition(academy: Academy, on: date) -> Q:
    """Whether somebody else decides for a student: by the year of birth, and while it is unknown, unless an adult."""
    unknown = Q(birth_year=None) & ~Q(age_group=Student.AgeGroup.ADULT)
    return Q(birth_year__gte=on.year - academy.adult_at) | unknown


def guardian_condition(on: date) -> Exists:
    """Whether a student has a guardian on a day, with an open account."""
    guardianships = Guardianship.objects.filter(student=OuterRef("pk"), guardian__is_active=True)
    return Exists(guardianships.in_force(on))


def junior_consent_condition(purpose: str, on: date) -> Q:
    """Whether a consent for a junior counts: nobody has withdrawn it, and there is a guardian.

    What a junior gave themselves, while they were taken for an adult, does not count.
    """
    given = Consent.objects.filter(student=OuterRef("pk"), purpose=purpose, withdrawn_at=None)
    return Q(guardian_condition(on)) & Q(Exists(given.exclude(given_by=F("student__user"))))


def pictures_condition(academy: Academy, on: date) -> Q:
    """Whether pictures of a student may be taken, and those that there are be shown, on a day.

    Of a junior while a consent stands that a guardian gave; of an adult while any does, their own, or a guardian's of
    before. One that was given to a text which said that nothing is kept allows no keeping.
    """
    given = Consent.objects.filter(student=OuterRef("pk"), purpose=Consent.Purpose.PHOTOS, withdrawn_at=None)
    given = given.exclude(text_shown__contains=KEEPS_NONE)
    guardians = Guardianship.objects.filter(student=OuterRef("student"), guardian=OuterRef("given_by"))
    by_guardian = Q(Exists(given.filter(Exists(guardians)))) & Q(guardian_condition(on))
    is_junior = junior_condition(academy, on)
    return (is_junior & by_guardian) | (~is_junior & Q(Exists(given)))


def relationship_conditions(viewer: Viewer, academy: Academy, on: date) -> dict[Relationship, Q]:
    """For each relationship that this person may have, the condition, on a student's row, that it holds on a day.

    A student who comes of age takes over from their guardians. Who is no coach, or no student, is asked nothing of
    that: every page pays for these conditions.
    """
    is_junior = junior_condition(academy, on)
    guardianships = Guardianship.objects.filter(student=OuterRef("pk"), guardian=viewer.pk).in_force(on)
    conditions = {
        Relationship.GUARDIAN: Q(Exists(guardianships)) & is_junior,
        Relationship.MANAGER: Q(Value(viewer.is_manager, output_field=models.BooleanField())),
    }
    if viewer.is_student:
        is_self = Q(user=viewer.pk)
        conditions |= {Relationship.SELF: is_self, Relationship.ADULT_SELF: is_self & ~is_junior}
    return conditions | care_conditions(viewer, is_junior, on) if viewer.is_coach else conditions


def care_conditions(viewer: Viewer, is_junior: Q, on: date) -> dict[Relationship, Q]:
    """The conditions of a coach.

    A second coach sees a junior's record only while somebody who decides for the junior consents to sharing it.
    """
    cares = Care.objects.filter(student=OuterRef("pk"), coach__user=viewer.pk).in_force(on)
    is_shared = ~is_junior | junior_consent_condition(Consent.Purpose.SHARING, on)
    return {
        Relationship.MAIN_COACH: Q(Exists(cares.filter(role=Care.Role.MAIN))),
        Relationship.COVERING_COACH: Q(Exists(cares.filter(role=Care.Role.COVER))) & is_shared,
        Relationship.ASSISTANT_COACH: Q(Exists(cares.filter(role=Care.Role.ASSISTANT))) & is_shared,
    }
