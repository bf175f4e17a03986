"""Bringing appointments back as they were before an act, when the act is undone."""

from datetime import datetime
from typing import Any, NamedTuple

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import QuerySet

from coachbook.accounts.models import Care, Coach, Student, User
from coachbook.diary.following.rearranging import State, state_of
from coachbook.diary.following.touched import day_of, teaches
from coachbook.diary.models import Appointment, Rearrangement
from coachbook.diary.scheduling import save_change

CHANGED = "An appointment that this moved or cancelled was changed since. It can no longer be undone."


class Back(NamedTuple):
    """How many appointments are as they were, and how many stay as they are now."""

    back: int
    left: int

    @property
    def words(self) -> str:
        """The same in words, or an empty text where there were none."""
        are = f"{self.back} appointment{'s are' if self.back > 1 else ' is'} as before." if self.back else ""
        stay = f"{self.left} stay{'s' if self.left == 1 else ''} as now: changed since, over, or without a coach."
        return " ".join(filter(None, (are, stay if self.left else "")))


@transaction.atomic
def bring_all_back(rearrangement: Rearrangement, *, by: User, at: datetime) -> None:
    """Every appointment as it was, or none.

    Raises ValidationError where one was changed since, or its coach has no account any more.
    """
    for change in rearrangement.changes:
        row = unchanged(change)
        if row is None or not Coach.objects.teaching().filter(pk=change["before"]["coach"]).exists():
            raise ValidationError(CHANGED)
        set_back(row, change["before"], by, at)
    mark_undone(rearrangement, at)


@transaction.atomic
def bring_back_what_can_be(
    rearrangements: "QuerySet[Rearrangement]", *, by: User, at: datetime, later_than: datetime | None = None
) -> Back:
    """Every appointment as it was that nobody changed since, that its coach can keep, and that is to come.

    Those up to `later_than` stay as they are now.
    """
    back = left = 0
    for rearrangement in rearrangements.filter(undone_at=None):
        for change in rearrangement.changes:
            row = unchanged(change)
            if row and row.starts_at > (later_than or at) and can_be_kept(row, change["before"]):
                set_back(row, change["before"], by, at)
                back += 1
            else:
                left += 1
        mark_undone(rearrangement, at)
    return Back(back, left)


def unchanged(change: dict[str, Any]) -> Appointment | None:
    """The appointment, if it is as the act left it and nobody of before was erased since."""
    row = Appointment.objects.select_for_update().filter(pk=change["appointment"]).first()
    students = set(change["before"]["students"])
    is_as_left = row and state_of(row) == change["after"]
    return row if is_as_left and Student.objects.filter(pk__in=students).count() == len(students) else None


def can_be_kept(row: Appointment, state: State) -> bool:
    """Whether the coach of before is there and has all the students of before on that day."""
    students = list(Student.objects.present().filter(pk__in=state["students"]).exclude(status=Student.Status.LEFT))
    cares = Care.objects.filter(coach=state["coach"], coach__user__is_active=True, student__in=students)
    return len(students) == len(state["students"]) and teaches(cares, state["coach"], students, day_of(row))


def set_back(row: Appointment, state: State, by: User, at: datetime) -> None:
    """One appointment as it was; for calendar programs it is a newer version all the same."""
    row.coach_id, row.status = state["coach"], state["status"]
    save_change(row, by, at)
    row.students.set(state["students"])


def mark_undone(rearrangement: Rearrangement, at: datetime) -> None:
    """Undone once, not again."""
    rearrangement.undone_at = at
    rearrangement.save(update_fields=["undone_at"])
