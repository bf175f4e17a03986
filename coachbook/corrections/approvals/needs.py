"""What needs a second person: a change of who decides for a student, or a new way into an account in use."""

from collections.abc import Iterator
from copy import copy
from datetime import date
from typing import Any

from coachbook.accounts.ages import changes_who_decides
from coachbook.accounts.models import Academy, Student
from coachbook.corrections.models import Correction

AGE_FIELDS = ("birth_year", "age_group")
# Undoing a change of any row of these, or of a student's account, gives access or takes it away.
ACCESS_ROWS = frozenset({"accounts.Guardianship", "accounts.Consent", "accounts.User"})


def with_age(student: Student, values: dict[str, Any]) -> Student:
    """A copy of a student with another year of birth or another answer to child or adult."""
    other = copy(student)
    for name in AGE_FIELDS:
        setattr(other, name, values.get(name, getattr(student, name)))
    return other


def age_after_merge(duplicate: Student, into: Student) -> Student:
    """The student with the age that a merge leaves: what is empty is filled from the duplicate."""
    return with_age(into, {name: getattr(into, name) or getattr(duplicate, name) for name in AGE_FIELDS})


def guardians_on(student: Student, on: date) -> set[int]:
    """The guardians of a student on a day, by primary key."""
    return set(student.guardianships.in_force(on).values_list("guardian", flat=True))


def merge_reasons(duplicate: Student, into: Student, academy: Academy, on: date) -> list[str]:
    """In what the two differ, so that merging them needs a second person; a duplicate without it changes nothing."""

    def is_junior(student: Student) -> bool:
        return student.is_junior(on, academy.adult_at)

    is_known = duplicate.birth_year is not None or duplicate.age_group
    had_guardians = duplicate.guardianships.exists()  # also where the last one was ended
    sooner = changes_who_decides(into, age_after_merge(duplicate, into), on, academy.adult_at)
    reasons = {
        "the account": duplicate.user_id is not None,
        "child or adult": sooner or (bool(is_known) and is_junior(duplicate) != is_junior(into)),
        "the guardians": had_guardians and guardians_on(duplicate, on) != guardians_on(into, on),
    }
    return [words for words, differs in reasons.items() if differs]


def undo_needs_approval(correction: Correction, academy: Academy, on: date) -> bool:
    """Whether undoing a correction changes who decides for a student, or who gets into an account."""
    for entry in correction.changes:
        if entry["model"] in ACCESS_ROWS or (entry["model"], entry["field"]) == ("accounts.Student", "user_id"):
            return True
    ages = ages_before(correction)
    return any(changes_who_decides(student, before, on, academy.adult_at) for student, before in ages)


def ages_before(correction: Correction) -> Iterator[tuple[Student, Student]]:
    """Each student whose age a correction changed, as stored, and with the age from before it."""
    for student in filter(None, (correction.student, correction.other_student)):
        own = [row for row in correction.changes if row["model"] == "accounts.Student" and row["pk"] == student.pk]
        earlier = {row["field"]: row["before"] for row in reversed(own) if row["field"] in AGE_FIELDS}
        if earlier:
            yield student, with_age(student, earlier)
