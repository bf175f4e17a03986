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
            end_areas(care, moved, since, by)
    return save_care(main_care(student, to, moved, since, note=note), by)


def end_areas(care: Care, moved: set[Area], since: date, by: User) -> None:
    """End some areas of a coach's care the day before; care that would only begin later never does."""
    coach, student, staying, began, until = care.coach, care.student, set(care.areas) - moved, care.since, care.until
    if began < since:
        care.until = since - timedelta(days=1)
        save_care(care, by)
    else:
        deciding(care, by).delete()
    if staying:
        save_care(main_care(student, coach, staying, max(began, since), until, care.note), by)


def main_care(
    student: Student, coach: Coach, areas: set[Area], since: date, until: date | None = None, note: str = ""
) -> Care:
    """Main care for some areas, not yet saved."""
    days = {"since": since, "until": until, "note": note}
    return Care(coach=coach, student=student, role=Care.Role.MAIN, **days, **area_columns(areas))


def area_columns(areas: Collection[Area]) -> dict[str, bool]:
    """The columns of some areas."""
    return {area.value: area in areas for area in Area}


def save_care(care: Care, by: User) -> Care:
    """The care, saved under the name of whoever deciding it."""
    deciding(care, by).save()
    return care


def deciding(care: Care, by: User) -> Care:
    """The care, with who deciding what becomes of it, for the history."""
    care._history_user = by  # type: ignore[attr-defined]  # what the history reads
    return care
