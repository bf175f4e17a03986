"""Adding a guardian of a student, and ending a guardianship."""

from datetime import date

from django.db import transaction

from coachbook.accounts.models import Guardianship, Student, User


@transaction.atomic
def add_guardian(*, student: Student, person: User, by: User) -> Guardianship:
    """Make a person a guardian of a student, also where they were one before."""
    guardianship, is_new = Guardianship.objects.get_or_create(
        student=student, guardian=person, defaults={"made_by": by}
    )
    if not is_new and guardianship.ended_on is not None:
        guardianship.ended_on, guardianship.made_by = None, by
        guardianship.save(update_fields=["ended_on", "made_by"])
    return guardianship


@transaction.atomic
def end_guardianship(*, guardianship: Guardianship, on: date) -> None:
    """End a guardianship on a day; one that has ended keeps its day."""
    if guardianship.ended_on is None or guardianship.ended_on > on:
        guardianship.ended_on = on
        guardianship.save(update_fields=["ended_on"])
