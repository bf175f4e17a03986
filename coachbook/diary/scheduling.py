"""Creating, moving, keeping and cancelling appointments; each function changes everything or nothing."""

import uuid
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Q

from coachbook.accounts.models import Academy, Coach, Pause, Student, User
from coachbook.diary.absences.reporting import free_among
from coachbook.diary.models import Appointment, Series

MAX_STUDENTS = 20
MAX_APPOINTMENTS = 60


@dataclass(frozen=True)
class Plan:
    """What is planned: the coach, the students, the moments, the minutes, the place, and the rule of a series."""

    coach: Coach
    students: Sequence[Student]
    moments: Sequence[datetime]
    minutes: int
    place: str
    rule: str = ""


@transaction.atomic
def create_appointments(*, key: uuid.UUID, plan: Plan, by: User, at: datetime) -> Appointment:
    """Create an appointment for each moment; the first one gets the key. A key that is taken creates nothing."""
    if found := Appointment.objects.filter(key=key).first():
        return found
    if not 1 <= len(plan.students) <= MAX_STUDENTS:
        raise ValidationError(f"From 1 to {MAX_STUDENTS} students.")
    series = None
    if plan.rule:
        series = Series.objects.create(rule=plan.rule, first_at=plan.moments[0], made_by=by, made_at=at)
    keys = [key, *(uuid.uuid5(key, str(number)) for number in range(1, len(plan.moments)))]
    created = []
    for own_key, moment in zip(keys, plan.moments, strict=True):
        row = Appointment(key=own_key, coach=plan.coach, starts_at=moment, minutes=plan.minutes, place=plan.place)
        row.series, row.made_by, row.changed_at = series, by, at
        row.save()
        row.students.set(plan.students)
        created.append(row)
    return created[0]


@transaction.atomic
def move_appointment(
    *, appointment: Appointment, plan: Plan, by: User, at: datetime, stay: Sequence[Student] = ()
) -> None:
    """Change the time, place or students of one appointment; those in `stay` remain, and its series stays."""
    appointment.coach, appointment.starts_at = plan.coach, plan.moments[0]
    appointment.minutes, appointment.place = plan.minutes, plan.place
    save_change(appointment, by, at)
    appointment.students.set([*plan.students, *stay])


@transaction.atomic
def set_status(*, appointment: Appointment, status: str, by: User, at: datetime, later: bool = False) -> int:
    """Set the status; with `later`, cancelling includes the later planned appointments of the series.

    Returns how many appointments that is.
    """
    rows = [appointment]
    if later and appointment.series_id and status == Appointment.Status.CANCELLED:
        same = Appointment.objects.planned().filter(series=appointment.series_id)
        rows += same.filter(starts_at__gt=appointment.starts_at)
    for row in rows:
        if row.status != status:
            row.status = status
            save_change(row, by, at)
    return len(rows)


def save_change(row: Appointment, by: User, at: datetime) -> None:
    """Save a change, with a number that tells calendar programs which version is newer."""
    row.changed_by, row.changed_at, row.sequence = by, at, row.sequence + 1
    row.save()


def keep_appointment(*, student: Student, coach: Coach, on: date, academy: Academy, by: User, at: datetime) -> None:
    """Set a planned appointment of that day with that coach to kept, when its lesson is logged.

    Of several it is the last one that has begun: a second lesson of that day may still be to come.
    """
    first, before = day_bounds(academy, on)
    planned = Appointment.objects.planned().filter(coach=coach, students=student)
    of_day = list(planned.filter(starts_at__gte=first, starts_at__lt=before).order_by("starts_at"))
    begun = [row for row in of_day if row.has_begun(at)]
    for row in begun[-1:] or of_day[:1]:
        set_status(appointment=row, status=Appointment.Status.KEPT, by=by, at=at)


def day_bounds(academy: Academy, day: date, days: int = 1) -> tuple[datetime, datetime]:
    """The moments at which so many days, from this one on, begin and end at the academy."""
    zone = ZoneInfo(academy.time_zone)
    first = datetime.combine(day, time.min, zone)
    return first, datetime.combine(day + timedelta(days=days), time.min, zone)


def find_clashes(plan: Plan, *, other_than: Appointment | None = None) -> list[Appointment]:
    """The planned appointments of the coach or of one of the students that overlap one of the moments.

    One to which none of its students can come leaves its time free.
    """
    if not plan.moments:
        return []
    whole = int((plan.moments[-1] - plan.moments[0]).total_seconds() // 60) + plan.minutes
    near = Appointment.objects.planned().touching(plan.moments[0], whole)
    near = near.exclude(pk=other_than.pk) if other_than else near
    theirs = near.filter(Q(coach=plan.coach) | Q(students__in=plan.students)).distinct()
    found = theirs.select_related("coach__user").prefetch_related("students").order_by("starts_at")
    overlapping = [row for row in found if any(overlaps(row, moment, plan.minutes) for moment in plan.moments)]
    free = free_among(overlapping)
    return [row for row in overlapping if row.pk not in free]


def overlaps(row: Appointment, moment: datetime, minutes: int) -> bool:
    """Whether an appointment overlaps a time."""
    return row.starts_at < moment + timedelta(minutes=minutes) and moment < row.ends_at


def find_pauses(students: Iterable[Student], days: Sequence[date]) -> list[Pause]:
    """The pauses of the students that include one of the days."""
    if not days:
        return []
    near = Pause.objects.filter(student__in=list(students)).between(min(days), max(days)).select_related("student")
    return [p for p in near if any(p.since <= day and (p.until is None or day <= p.until) for day in days)]
