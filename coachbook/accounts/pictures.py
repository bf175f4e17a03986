"""Whether pictures of a student may be kept, and if not, why and who can change that."""

from datetime import date
from enum import StrEnum

from coachbook.accounts.models import Academy, Consent, Student
from coachbook.accounts.relationships import guardian_condition, pictures_condition


class Answer(StrEnum):
    """What is known of the consent to keep pictures of a student."""

    GIVEN = "given"
    TO_ASK = "to ask"  # an adult whom nobody has asked
    WITHDRAWN = "withdrawn"  # by an adult, who alone can give it again
    NOT_GIVEN = "not given"  # a junior, with a guardian who can give it
    NO_GUARDIAN = "no guardian"  # a junior for whom nobody can give it


def picture_consent(student: Student, academy: Academy, on: date) -> Answer:
    """What is known of the consent to keep pictures of a student on a day: the one place where it is decided."""
    rows = Student.objects.filter(pk=student.pk)
    if rows.filter(pictures_condition(academy, on)).exists():
        return Answer.GIVEN
    if student.is_junior(on, academy.adult_at):
        return Answer.NOT_GIVEN if rows.filter(guardian_condition(on)).exists() else Answer.NO_GUARDIAN
    asked = student.consents.filter(purpose=Consent.Purpose.PHOTOS).exclude(withdrawn_at=None)
    return Answer.WITHDRAWN if student.user_id and asked.exists() else Answer.TO_ASK
