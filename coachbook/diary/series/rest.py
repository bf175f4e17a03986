"""A series from one of its days on: which lessons that is, and moving them all to another time, day or coach."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import cached_property
from zoneinfo import ZoneInfo

from django.db import transaction

from coachbook.accounts.models import Coach, User
from coachbook.diary.models import Appointment, Series
from coachbook.diary.recurrence import count_rule
from coachbook.diary.scheduling import save_change


@dataclass(frozen=True)
class Rest:
    """One lesson of a series and all later ones, by what became of them."""

    first: Appointment
    series: Series
    rows: list[Appointment]  # also those that were cancelled
    zone: ZoneInfo

    @property
    def planned(self) -> list[Appointment]:
        """Those that take place."""
        return [row for row in self.rows if row.status == Appointment.Status.PLANNED]

    @property
    def cancelled(self) -> list[Appointment]:
        """Those that were cancelled by hand: they stay so."""
        return [row for row in self.rows if row.status == Appointment.Status.CANCELLED]

    @property
    def by_hand(self) -> list[Appointment]:
        """Those later ones that somebody moved to another day or time than the series has."""
        return [row for row in self.planned if row != self.first and self.is_by_hand(row)]

    @cached_property
    def usual(self) -> datetime:
        """The first moment of the series at the academy: its day of the week and its time of day are the usual ones."""
        return self.series.first_at.astimezone(self.zone)

    def is_by_hand(self, row: Appointment) -> bool:
        """Whether a lesson is on another day of the week or at another time than the series has."""
        local = row.starts_at.astimezone(self.zone)
        return (local.weekday(), local.time()) != (self.usual.weekday(), self.usual.time())

    def usual_day(self, row: Appointment) -> date:
        """The day that the series has in the week of a lesson."""
        day = row.starts_at.astimezone(self.zone).date()
        return day + timedelta(days=self.usual.weekday() - day.weekday())

    def moments(self, day: date, at: time, *, with_by_hand: bool) -> dict[Appointment, datetime]:
        """When each lesson begins, in the academy's zone, if the first one moves to this day and time."""
        shift = day - self.usual_day(self.first)
        staying = [] if with_by_hand else self.by_hand
        moving = [row for row in self.planned if row not in staying]
        return {row: datetime.combine(self.usual_day(row) + shift, at, self.zone) for row in moving}


def rest_of_series(first: Appointment, zone: ZoneInfo) -> Rest | None:
    """A lesson and all later ones of its series, or None where it belongs to none."""
    if first.series is None:
        return None
    later = Appointment.objects.filter(series=first.series, starts_at__gte=first.starts_at)
    rows = later.select_related("coach__user").prefetch_related("students").order_by("starts_at", "pk")
    return Rest(first, first.series, list(rows), zone)


@transaction.atomic
def move_rest(
    rest: Rest,
    moments: Mapping[Appointment, datetime],
    *,
    coach: Coach,
    minutes: int,
    place: str,
    by: User,
    at: datetime,
) -> None:
    """Move these lessons; from the first one on they are a series of their own, and earlier ones stay as they were.

    A lesson that somebody gave to another coach stays with that coach.
    """
    before = rest.first.coach_id
    rule = count_rule(every_weeks(rest.series.rule), len(rest.rows))
    first_at = moments[rest.first].astimezone(UTC)
    series = Series.objects.create(rule=rule, first_at=first_at, made_by=by, made_at=at)
    for row in rest.rows:
        row.series = series
        if row not in moments:
            row.save()
            continue
        row.starts_at, row.minutes, row.place = moments[row].astimezone(UTC), minutes, place
        row.coach = coach if row.coach_id == before else row.coach
        save_change(row, by, at)


def every_weeks(rule: str) -> int:
    """From how many weeks to how many a rule repeats."""
    found = re.search(r"INTERVAL=(\d+)", rule)
    return int(found[1]) if found else 1
