"""Who coaches whom: moving a student to another main coach."""

from collections.abc import Collection
from datetime import date, timedelta

from django.db import transaction
from django.db.models import Q, QuerySet

from coachbook.accounts.models import Area, Care, Coach, Student, User


def main_cares(student: Student, on: date) -> QuerySet[Care]:
    """The main care of a student that holds on a day or later, the earliest first."""
    reaching = student.cares.filter(Q(until=None) | Q(until__gte=on), role=Care.Role.MAIN)
    return reaching.select_related("coach__user").order_by("since", "pk")


@transaction.atomic
def move_student(
    *, student: Student, to: Coach, since: date, by: User, areas: Collection[Area] | None = None, note: str = ""
) -> Care:
    """Give a student's main care to another coach from a day on, for the areas it covers now or for some of them.

    What was planned for these areas from that day on gives way, too. Cover and assistant coaches stay.
    """
    Student.objects.select_for_update().get(pk=student.pk)  # two managers at once: one after the other
    before = list(main_cares(student, since))
    moved = set(areas or {area for care in before for area in care.areas} or Area)
    for care in before:
        if moved.intersection(care.areas):
            give_up(care, moved, since, by)
    return kept(main_care(student, to, moved, since, note=note), by)


def give_up(care: Care, moved: set[Area], since: date, by: User) -> None:
    """End some areas of a coach's care the day before; care that would only begin later never does."""
    coach, student, staying, began, until = care.coach, care.student, set(care.areas) - moved, care.since, care.until
    if began < since:
        care.until = since - timedelta(days=1)
        kept(care, by)
    else:
        decided(care, by).delete()
    if staying:
        kept(main_care(student, coach, staying, max(began, since), until, care.note), by)


def main_care(
    student: Student, coach: Coach, areas: set[Area], since: date, until: date | None = None, note: str = ""
) -> Care:
    """Main care for some areas, not yet saved."""
    days = {"since": since, "until": until, "note": note}
    return Care(coach=coach, student=student, role=Care.Role.MAIN, **days, **covers(areas))


def covers(areas: Collection[Area]) -> dict[str, bool]:
    """The columns of some areas."""
    return {area.value: area in areas for area in Area}


def kept(care: Care, by: User) -> Care:
    """The care, saved under the name of whoever decided it."""
    decided(care, by).save()
    return care


def decided(care: Care, by: User) -> Care:
    """The care, with who decided what becomes of it, for the history."""
    care._history_user = by  # type: ignore[attr-defined]  # what the history reads
    return care
