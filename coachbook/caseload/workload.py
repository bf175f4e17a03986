"""How many lessons each coach held in the past weeks and has booked for the coming ones, as small bars."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from django.db.models import Count, Exists, F, OuterRef, QuerySet, Value
from django.db.models.functions import TruncDate, TruncWeek

from coachbook.accounts.models import Academy, Coach
from coachbook.caseload.gather import HELD, midnight
from coachbook.diary.models import Absence, Appointment
from lessons.models import Lesson

PAST, COMING = 6, 4  # whole weeks beside this one
STEP, BAR, HEIGHT = 10, 8, 28  # from bar to bar, its width, and the height of the tallest: units of the drawing


class Week(NamedTuple):
    """A week from its Monday: lessons held, and lessons booked from now on. A group is one lesson."""

    first: date
    held: int
    booked: int


class Bar(NamedTuple):
    """A bar of the drawing: what was held below, what is booked above it."""

    x: int
    held_y: float
    held: float
    booked_y: float
    booked: float


@dataclass(frozen=True)
class Workload:
    """One coach's weeks; `most` is the greatest number of lessons in a week of all who are drawn beside each other."""

    coach: Coach
    weeks: tuple[Week, ...]
    this_week: Week
    most: int

    @property
    def bars(self) -> list[Bar]:
        """The bars, from the left."""
        return [bar_of(number, week, self.most) for number, week in enumerate(self.weeks)]

    @property
    def words(self) -> str:
        """What the bars show."""
        held = ", ".join(str(week.held) for week in self.weeks if week.first <= self.this_week.first)
        booked = ", ".join(str(week.booked) for week in self.weeks if week.first >= self.this_week.first)
        return f"Lessons a week: held {held}, the last number being this week; booked from this week on {booked}"


def bar_of(number: int, week: Week, most: int) -> Bar:
    """One bar; a week with nothing has a line alone, which the axis draws."""
    held, booked = (round(HEIGHT * lessons / max(most, 1), 1) for lessons in (week.held, week.booked))
    return Bar(number * STEP, round(HEIGHT - held, 1), held, round(HEIGHT - held - booked, 1), booked)


def workloads(coaches: Iterable[Coach], academy: Academy, at: datetime) -> list[Workload]:
    """The weeks of some coaches, in one query; all bars have one scale."""
    on = academy.today(at)
    monday = on - timedelta(days=on.weekday())
    mondays = [monday + timedelta(weeks=number) for number in range(-PAST, COMING + 1)]
    counts = counts_by_week(academy, mondays, at)
    rows = {coach: weeks_of(coach, mondays, counts) for coach in coaches}
    most = max((week.held + week.booked for weeks in rows.values() for week in weeks), default=0)
    return [Workload(coach, weeks, weeks[PAST], most) for coach, weeks in rows.items()]


HELD_ONES, BOOKED_ONES = "held", "booked"
Counts = Mapping[tuple[str, int, date], int]


def weeks_of(coach: Coach, mondays: Iterable[date], counts: Counts) -> tuple[Week, ...]:
    """One coach's weeks."""
    return tuple(
        Week(day, *(counts.get((kind, coach.pk, day), 0) for kind in (HELD_ONES, BOOKED_ONES))) for day in mondays
    )


def counts_by_week(academy: Academy, mondays: list[date], at: datetime) -> Counts:
    """How many sessions each coach held and how many appointments they have, by week; one query for both."""
    held = held_by_week(academy, mondays, at).annotate(kind=Value(HELD_ONES))
    booked = booked_by_week(academy, mondays, at).annotate(kind=Value(BOOKED_ONES))
    columns = ("kind", "teacher", "week", "number")
    rows = held.values_list(*columns).union(booked.values_list(*columns), all=True)
    return {(kind, coach, week.date()): number for kind, coach, week, number in rows}


def held_by_week(academy: Academy, mondays: list[date], at: datetime) -> "QuerySet[Any, Any]":
    """How many sessions each coach held in each week; a session counts once somebody's log of it is finished."""
    lessons = Lesson.objects.filter(HELD, session__starts_at__gte=midnight(academy, mondays[0]))
    lessons = lessons.filter(session__starts_at__lte=at).order_by()
    weeks = lessons.annotate(week=week_of("session__starts_at", academy), teacher=F("session__coach"))
    return weeks.values("teacher", "week").annotate(number=Count("session", distinct=True))


def booked_by_week(academy: Academy, mondays: list[date], at: datetime) -> "QuerySet[Any, Any]":
    """How many appointments each coach has from now on to which somebody can come, by week."""
    before = midnight(academy, mondays[-1] + timedelta(weeks=1))
    planned = Appointment.objects.planned().filter(starts_at__gt=at, starts_at__lt=before).order_by()
    planned = planned.annotate(local_day=TruncDate("starts_at", tzinfo=ZoneInfo(academy.time_zone)))
    absent = Absence.objects.standing().filter(
        student=OuterRef("student"),
        first_day__lte=OuterRef(OuterRef("local_day")),
        last_day__gte=OuterRef(OuterRef("local_day")),
    )
    coming = Appointment.students.through.objects.filter(~Exists(absent), appointment=OuterRef("pk"))
    weeks = planned.filter(Exists(coming)).annotate(week=week_of("starts_at", academy), teacher=F("coach"))
    return weeks.values("teacher", "week").annotate(number=Count("pk"))


def week_of(field: str, academy: Academy) -> TruncWeek:
    """The Monday of the week in which a moment lies, in the academy's zone."""
    return TruncWeek(field, tzinfo=ZoneInfo(academy.time_zone))
