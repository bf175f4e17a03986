"""Making, moving, keeping and cancelling appointments: each function is one act, whole or not at all."""

import uuid
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Q

from coachbook.accounts.models import Academy, Coach, Pause, Student, User
from coachbook.diary.models import Appointment, Series

MOST_STUDENTS = 20
MOST_TIMES = 60


@dataclass(frozen=True)
class Plan:
    """What is to be: who meets whom, at which moments, for how long, where."""

    coach: Coach
    students: Sequence[Student]
    moments: Sequence[datetime]
    minutes: int
    place: str
    rule: str = ""


@transaction.atomic
def make(*, key: uuid.UUID, plan: Plan, by: User, at: datetime) -> Appointment:
    """Make an appointment for each moment; the first one has the key, and a key that is taken makes nothing more."""
    if found := Appointment.objects.filter(key=key).first():
        return found
    if not 1 <= len(plan.students) <= MOST_STUDENTS:
        raise ValidationError(f"From 1 to {MOST_STUDENTS} students.")
    series = None
    if plan.rule:
        series = Series.objects.create(rule=plan.rule, first_at=plan.moments[0], made_by=by, made_at=at)
    keys = [key, *(uuid.uuid5(key, str(number)) for number in range(1, len(plan.moments)))]
    made = []
    for own_key, moment in zip(keys, plan.moments, strict=True):
        row = Appointment(key=own_key, coach=plan.coach, starts_at=moment, minutes=plan.minutes, place=plan.place)
        row.series, row.made_by, row.changed_at = series, by, at
        row.save()
        row.students.set(plan.students)
        made.append(row)
    return made[0]


@transaction.atomic
def move(*, appointment: Appointment, plan: Plan, by: User, at: datetime, stay: Sequence[Student] = ()) -> None:
    """Give one appointment another time, place or company, but for those who stay; the others of its series stay."""
    appointment.coach, appointment.starts_at = plan.coach, plan.moments[0]
    appointment.minutes, appointment.place = plan.minutes, plan.place
    keep(appointment, by, at)
    appointment.students.set([*plan.students, *stay])


@transaction.atomic
def decide(*, appointment: Appointment, status: str, by: User, at: datetime, later: bool = False) -> int:
    """Say what became of an appointment; to cancel may mean all later ones of its series that are still planned."""
    rows = [appointment]
    if later and appointment.series_id and status == Appointment.Status.CANCELLED:
        same = Appointment.objects.planned().filter(series=appointment.series_id)
        rows += same.filter(starts_at__gt=appointment.starts_at).exclude(pk=appointment.pk)
    for row in rows:
        if row.status != status:
            row.status = status
            keep(row, by, at)
    return len(rows)


def keep(row: Appointment, by: User, at: datetime) -> None:
    """Save a change, under a number that tells calendars which version is the newer."""
    row.changed_by, row.changed_at, row.sequence = by, at, row.sequence + 1
    row.save()


def mark_kept(*, student: Student, coach: Coach, on: date, academy: Academy, by: User, at: datetime) -> None:
    """Whoever has a lesson written down kept the planned appointment of that day with that coach."""
    first, before = day_bounds(academy, on)
    planned = Appointment.objects.planned().filter(coach=coach, students=student)
    for row in planned.filter(starts_at__gte=first, starts_at__lt=before):
        decide(appointment=row, status=Appointment.Status.KEPT, by=by, at=at)


def day_bounds(academy: Academy, day: date, days: int = 1) -> tuple[datetime, datetime]:
    """The moments between which so many days from this one on lie at the academy."""
    zone = ZoneInfo(academy.time_zone)
    first = datetime.combine(day, time.min, zone)
    return first, datetime.combine(day + timedelta(days=days), time.min, zone)


def clashes(plan: Plan, *, but: Appointment | None = None) -> list[Appointment]:
    """The planned appointments of the same coach or of one of the students that overlap one of the moments."""
    if not plan.moments:
        return []
    whole = int((plan.moments[-1] - plan.moments[0]).total_seconds() // 60) + plan.minutes
    near = Appointment.objects.planned().touching(plan.moments[0], whole)
    near = near.exclude(pk=but.pk) if but else near
    theirs = near.filter(Q(coach=plan.coach) | Q(students__in=plan.students)).distinct()
    found = theirs.select_related("coach__user").prefetch_related("students").order_by("starts_at")
    return [row for row in found if any(overlaps(row, moment, plan.minutes) for moment in plan.moments)]


def overlaps(row: Appointment, moment: datetime, minutes: int) -> bool:
    """Whether an appointment and a time share a minute."""
    return row.starts_at < moment + timedelta(minutes=minutes) and moment < row.ends_at


def pauses(students: Iterable[Student], days: Sequence[date]) -> list[Pause]:
    """The pauses of the students in which one of the days lies."""
    if not days:
        return []
    near = Pause.objects.filter(student__in=list(students)).between(min(days), max(days)).select_related("student")
    return [p for p in near if any(p.since <= day and (p.until is None or day <= p.until) for day in days)]
