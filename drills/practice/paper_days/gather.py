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

ONE_DAY, DAYS_OF_WEEK = timedelta(days=1), 7
Tick = tuple[uuid.UUID, date]  # a drill given, by its key, and a day


def months_open(on: date) -> tuple[date, date]:
    """The first days of the two months that may be filled in: the last one and this one."""
    this = on.replace(day=1)
    return (this - ONE_DAY).replace(day=1), this


@dataclass(frozen=True)
class Box:
    """A drill on a day: the value that a tick sends, empty where it was not to be practised; what is known of it."""

    day: date
    value: str
    is_reported: bool
    is_ticked: bool


Weeks = list[list[Box | None]]


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

    def calendars(self, ticked: Collection[str]) -> list[tuple[Prescription, Weeks]]:
        """The weeks of each drill, from Monday on; `ticked` are values that were sent.

        A drill that was given again after it ended has one calendar.
        """
        courses: list[list[Prescription]] = []
        for row in self.given:
            earlier = (
                rows for rows in courses if rows[-1].drill_id == row.drill_id and has_ended(rows[-1], row.begins)
            )
            course = next(earlier, None)
            if course is None:
                courses.append(course := [])
            course.append(row)
        return [(rows[-1], self.weeks(rows, ticked)) for rows in courses]

    def weeks(self, rows: Sequence[Prescription], ticked: Collection[str]) -> Weeks:
        """The weeks of one drill, without those that have none of it; None before the first day and after the last."""
        boxes: list[Box | None] = [None] * self.first.weekday()
        boxes += [self.box(rows, day, ticked) for day in self.days]
        boxes += [None] * (-len(boxes) % DAYS_OF_WEEK)
        weeks = [boxes[start : start + DAYS_OF_WEEK] for start in range(0, len(boxes), DAYS_OF_WEEK)]
        return [week for week in weeks if any(box and (box.value or box.is_reported) for box in week)]

    def box(self, rows: Sequence[Prescription], day: date, ticked: Collection[str]) -> Box:
        """One box."""
        row = next((row for row in rows if (row.key, day) in self.open), None)
        value = f"{row.key}:{day.isoformat()}" if row else ""
        return Box(day, value, any((row.pk, day) in self.reported for row in rows), value in ticked)


def has_ended(row: Prescription, on: date) -> bool:
    """Whether a drill was over on a day."""
    return row.ended_on is not None and row.ended_on <= on


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
