"""Reporting that a student cannot come, withdrawing it, and which appointments that frees."""

import uuid
from collections.abc import Collection, Iterable, Sequence
from datetime import date, datetime
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import FilteredRelation, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import TruncDate
from django.utils import timezone

from coachbook.accounts.models import Student, StudentQuerySet, User
from coachbook.diary.models import Absence, Appointment


def report_absence(*, key: uuid.UUID, student: Student, by: User, at: datetime, **values: object) -> Absence:
    """Report days on which a student cannot come, once: a second post to the same address changes nothing."""
    try:
        with transaction.atomic():
            return Absence.objects.create(key=key, student=student, reported_by=by, reported_at=at, **values)
    except IntegrityError:
        return Absence.objects.get(key=key)


def withdraw_absence(absence: Absence, by: User, at: datetime) -> None:
    """Withdraw it: the student comes after all. It stays in the history."""
    if absence.withdrawn_at is None:
        absence.withdrawn_by, absence.withdrawn_at = by, at
        absence.save()


def absences_of(students: Collection[int], first: date, last: date) -> dict[int, list[Absence]]:
    """What was reported for these students (their ids) between two days, by student; one query."""
    found: dict[int, list[Absence]] = {}
    rows = Absence.objects.standing().between(first, last).filter(student__in=list(students))
    for row in rows.select_related("reported_by"):
        found.setdefault(row.student_id, []).append(row)
    return found


def students_with_absences(
    students: StudentQuerySet, first: date, last: date
) -> tuple[set[int], dict[int, list[Absence]]]:
    """The ids of some students, and what was reported for each between two days; one query for both."""
    of_days = Q(absences__withdrawn_at=None, absences__first_day__lte=last, absences__last_day__gte=first)
    rows = students.annotate(reported=FilteredRelation("absences", condition=of_days))
    names = ("first_day", "last_day", "reason", "words")
    columns = ("pk", "reported__reported_by__name", *(f"reported__{name}" for name in names))
    found: dict[int, list[Absence]] = {}
    for pk, by, *values in rows.order_by("pk", "reported__first_day").values_list(*columns):
        of_student = found.setdefault(pk, [])
        if values[0] is not None:
            of_student.append(Absence(reported_by=User(name=by), **dict(zip(names, values, strict=True))))
    return set(found), found


def absence_on(absences: Iterable[Absence], day: date) -> Absence | None:
    """The first of them that includes a day."""
    return next((row for row in absences if row.includes(day)), None)


def with_absence(appointments: "QuerySet[Appointment]", student: Student | OuterRef) -> "QuerySet[Appointment]":
    """The appointments with `absence_reason`: why a student cannot come on that day, or None.

    The student is one, or in a subquery of students `OuterRef(OuterRef(...))`.
    """
    of_day = Absence.objects.standing().filter(
        student=student, first_day__lte=OuterRef("local_day"), last_day__gte=OuterRef("local_day")
    )
    days = appointments.annotate(local_day=TruncDate("starts_at", tzinfo=timezone.get_current_timezone()))
    return days.annotate(absence_reason=Subquery(of_day.values("reason")[:1]))


def without_absent(appointments: "QuerySet[Any]", student: Student | OuterRef) -> "QuerySet[Any]":
    """Those to which a student can come, as far as anybody reported; takes the student as `with_absence` does."""
    found: QuerySet[Any] = with_absence(appointments, student)
    return found.filter(absence_reason=None)


def free_among(appointments: Sequence[Appointment]) -> set[int]:
    """The ids of those to which none of their students can come; takes them with their students, asks once."""
    if not appointments:
        return set()
    days = {row.pk: timezone.localdate(row.starts_at) for row in appointments}
    students = {row.pk: [student.pk for student in row.students.all()] for row in appointments}
    reported = absences_of({pk for keys in students.values() for pk in keys}, min(days.values()), max(days.values()))
    return {
        row
        for row, keys in students.items()
        if keys and all(absence_on(reported.get(pk, ()), days[row]) for pk in keys)
    }
