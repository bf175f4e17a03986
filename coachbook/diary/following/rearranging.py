"""Making of appointments what somebody chose, in the transaction of the act that touches them."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any, NamedTuple

from django.db import transaction

from coachbook.accounts.models import User
from coachbook.diary.following.touched import Choice, Touched
from coachbook.diary.models import Appointment, Rearrangement
from coachbook.diary.scheduling import save_change

State = dict[str, Any]


class Decision(NamedTuple):
    """What becomes of one appointment."""

    touched: Touched
    choice: Choice


def decide(touched: Iterable[Touched], chosen: Mapping[str, str]) -> list[Decision]:
    """What becomes of each: its own choice by its key, else that for all (`appointments`), else what is usual."""
    found = []
    for row in touched:
        own = chosen.get(str(row.appointment.key), "")
        found.append(Decision(row, row.choice_for(own if own in row.choices else chosen.get("appointments", ""))))
    return found


@transaction.atomic
def rearrange(
    decisions: Iterable[Decision], *, reason: Rearrangement.Reason, by: User, at: datetime, **about: Any
) -> Rearrangement | None:
    """Move, cancel or keep each appointment, and keep how it was; None where all stay as they are."""
    made = [change for decision in decisions if (change := carry_out(decision, by, at))]
    if not made:
        return None
    return Rearrangement.objects.create(reason=reason, by=by, at=at, changes=made, **about)


def carry_out(decision: Decision, by: User, at: datetime) -> dict[str, Any] | None:
    """Change one appointment, unless it stays as it is or somebody has just decided about it."""
    touched, choice = decision
    row = Appointment.objects.select_for_update().get(pk=touched.appointment.pk)
    if choice == Choice.KEEP or row.status != Appointment.Status.PLANNED:
        return None
    before = state_of(row)
    if choice == Choice.MOVE and touched.to:
        row.coach = touched.to
    elif choice == Choice.CANCEL:
        row.status = Appointment.Status.CANCELLED
    else:
        row.students.remove(*touched.students)
    save_change(row, by, at)
    return {"appointment": row.pk, "before": before, "after": state_of(row)}


def state_of(row: Appointment) -> State:
    """What an act may change of an appointment."""
    students = sorted(row.students.order_by().values_list("pk", flat=True))
    return {"coach": row.coach_id, "status": str(row.status), "students": students}
