"""The days of a month with a box for each drill, as on the paper sheet, and what was ticked there stored at once."""

import uuid
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property

from django.db import transaction
from django.db.models import F, Q
from simple_history.utils import bulk_create_with_history

from coachbook.accounts.models import Student
from drills.models import PracticeEntry, Prescription
from drills.practice.reports import started

ONE_DAY = timedelta(days=1)
Tick = tuple[uuid.UUID, date]  # a drill given, by its key, and a day


def months_open(on: date) -> tuple[date, date]:
    """The first days of the two months that may be filled in: the last one and this one."""
    this = on.replace(day=1)
    return (this - ONE_DAY).replace(day=1), this


@dataclass(frozen=True)
class Box:
    """A drill on a day: the value that a tick sends, empty where it was not to be practised; what is known of it."""

    value: str
    given: Prescription
    is_reported: bool
    is_ticked: bool


@dataclass(frozen=True)
class Month:
    """A month of a student: the drills that were to be practised in it, and which days of each were reported."""

    first: date
    on: date
    given: Sequence[Prescription]
    reported: Collection[tuple[int, date]]

    @property
    def last(self) -> date:
        """The last day that can be filled in: of the month, or today."""
        return min((self.first + timedelta(days=31)).replace(day=1) - ONE_DAY, self.on)

    @property
    def days(self) -> list[date]:
        """Its days up to today."""
        return [self.first + timedelta(days=number) for number in range((self.last - self.first).days + 1)]

    @cached_property
    def open(self) -> dict[Tick, Prescription]:
        """Everything that may be ticked."""
        return {(row.key, day): row for day in self.days for row in self.given if is_in_force(row, day)}

    def rows(self, ticked: Collection[str]) -> list[tuple[date, list[Box]]]:
        """A row a day with a box for each drill; `ticked` are values that were sent."""
        return [(day, [self.box(row, day, ticked) for row in self.given]) for day in self.days]

    def box(self, row: Prescription, day: date, ticked: Collection[str]) -> Box:
        """One box."""
        value = f"{row.key}:{day.isoformat()}" if (row.key, day) in self.open else ""
        return Box(value, row, (row.pk, day) in self.reported, value in ticked)


def is_in_force(row: Prescription, day: date) -> bool:
    """Whether a drill was to be practised on a day."""
    return row.begins <= day and (row.ended_on is None or day < row.ended_on)


def month_of(student: Student, first: date, on: date) -> Month:
    """A month of a student, in two queries."""
    after = (first + timedelta(days=31)).replace(day=1)
    ended = Q(ended_on=None) | Q(ended_on__gt=first) & Q(ended_on__gt=F("begins"))
    given = list(started(student, on).filter(ended, begins__lt=after).order_by("begins", "pk"))
    return Month(first, on, given, reported_in(given, first, after))


def reported_in(given: Sequence[Prescription], first: date, after: date) -> set[tuple[int, date]]:
    """The days on which practice of some drills was reported."""
    entries = PracticeEntry.objects.filter(prescription__in=given, is_void=False, day__gte=first, day__lt=after)
    return set(entries.order_by().values_list("prescription", "day"))


def read_tick(value: str) -> Tick | None:
    """The drill and the day of a box; None for what is no box."""
    key, _, day = value.partition(":")
    try:
        return uuid.UUID(key), date.fromisoformat(day)
    except ValueError:
        return None


@transaction.atomic
def fill_in(*, ticks: Collection[Tick], month: Month, source: str) -> int:
    """Report the whole dose for each tick of a month that is not reported yet, and return how many that were.

    Raises KeyError for a tick that is not open. Two that come at the same time wait for each other.
    """
    rows = {tick: month.open[tick] for tick in sorted(ticks)}
    keys = [row.pk for row in rows.values()]
    list(Prescription.objects.select_for_update().filter(pk__in=keys).order_by("pk"))
    reported = reported_in(list(rows.values()), month.first, month.last + ONE_DAY)
    entries = [
        PracticeEntry(prescription=row, day=day, amount=row.amount, source=source, reported_on=month.on)
        for (_, day), row in rows.items()
        if (row.pk, day) not in reported
    ]
    return len(bulk_create_with_history(entries, PracticeEntry) if entries else [])
