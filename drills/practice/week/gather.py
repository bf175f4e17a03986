"""A student's week: their drills laid over the days that they picked, or over days that suit the doses."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cached_property

from coachbook.accounts.models import Student
from drills.models import Drill, PracticeDays, PracticeEntry, Prescription, PrescriptionQuerySet
from drills.plan import Ask, Moved, Plan, Week, follow_week, plan_week, usual_days
from drills.practice.doses import first_day

WHOLE_DAY = 24 * 60  # minutes of a day for which nobody said how many


@dataclass(frozen=True)
class GivesWay:
    """A drill for which the days have not room enough: how many times a week it is planned, and asked for."""

    prescription: Prescription
    planned: int


@dataclass(frozen=True)
class StudentWeek:
    """The week of a student on one of its days.

    `given` holds the drills, what matters most first; `room` the minutes of each day from `first` on; `done` for each
    drill the days of this week on which it was reported, `entries` what was reported, where it was gathered;
    `is_picked` says whether the student picked the days.
    """

    first: date
    on: date
    given: Sequence[Prescription]
    asks: Sequence[Ask]
    room: Sequence[int]
    done: Sequence[Collection[int]]
    is_picked: bool = False
    entries: Sequence[PracticeEntry] = ()

    @property
    def days(self) -> list[date]:
        """The seven days."""
        return [self.first + timedelta(days=number) for number in range(7)]

    @cached_property
    def whole(self) -> Plan:
        """The plan of the week before it began."""
        return plan_week(self.asks, self.room)

    @cached_property
    def now(self) -> Week:
        """The plan from today on, and what moved: to days that were picked or, where none were, to any day."""
        spare = None if self.is_picked else [self.minutes or WHOLE_DAY] * len(self.room)
        return follow_week(self.asks, self.room, self.done, (self.on - self.first).days, spare)

    def planned_on(self, day: date) -> list[Prescription]:
        """The drills still to do on a day from today on, in the order in which to do them."""
        number = (day - self.first).days
        drills = zip(self.given, self.now.plan, self.done, strict=True)
        return [row for row, days, done in drills if number in days and number not in done]

    @property
    def today_first(self) -> list[Prescription]:
        """All drills: those still to do today, in the order in which to do them, and then the others."""
        planned = self.planned_on(self.on)
        return [*planned, *(row for row in self.given if row not in planned)]

    def moved_from(self, day: date) -> list[tuple[Prescription, str]]:
        """The drills that were planned for a day and not reported, and what became of each, in words."""
        number = (day - self.first).days
        return [(self.given[each.drill], self.moved_words(each)) for each in self.now.moved if each.day == number]

    def moved_words(self, moved: Moved) -> str:
        """Where a session went; nobody is to blame. No day is named that the drill has left since."""
        missed_again = {each.day for each in self.now.moved if each.drill == moved.drill}
        days = {*self.now.plan[moved.drill], *self.done[moved.drill], *missed_again}
        return f"moved to {self.days[moved.to]:%A}" if moved.to is not None and moved.to in days else "not reported"

    @property
    def weekdays(self) -> list[int]:
        """The days of the week that have room, Monday being 0."""
        return sorted((self.first.weekday() + number) % 7 for number, minutes in enumerate(self.room) if minutes)

    @property
    def minutes(self) -> int | None:
        """The minutes of a day of practice, if anybody said how many."""
        return next((minutes for minutes in self.room if 0 < minutes < WHOLE_DAY), None)

    def minutes_of(self, row: Prescription) -> int:
        """The minutes that a session of a drill takes."""
        return self.asks[self.given.index(row)].minutes

    def is_on(self, moved: Moved, day: date) -> bool:
        """Whether a session moved away from a day."""
        return self.first + timedelta(days=moved.day) == day

    @property
    def gives_way(self) -> list[GivesWay]:
        """The drills for which a whole week has not room enough, whatever was reported."""
        drills = zip(self.given, self.asks, self.whole, strict=True)
        return [GivesWay(row, len(days)) for row, ask, days in drills if len(days) < ask.sessions]

    @property
    def let_go(self) -> list[Prescription]:
        """The drills of which this week has no longer room for all that was planned."""
        drills = zip(self.given, self.whole, self.now.plan, self.done, strict=True)
        return [row for row, whole, plan, done in drills if len({*plan, *done}) < len(whole)]


def gather_week(student: Student, on: date) -> StudentWeek:
    """The week of a student on a day, in two queries."""
    given = list(with_days_picked(student.prescriptions.in_force(on)))
    days = (first_day((row.begins for row in given), on), on)
    found = PracticeEntry.objects.filter(prescription__in=given, is_void=False, day__range=days)
    entries = list(found.order_by("day", "pk"))
    reported: dict[int, set[date]] = defaultdict(set)
    for entry in entries:
        reported[entry.prescription_id].add(entry.day)
    return replace(lay_out(given, reported, on), entries=entries)


def with_days_picked(rows: PrescriptionQuerySet) -> PrescriptionQuerySet:
    """Prescriptions with the days that their student picked, so that `lay_out` asks the database nothing."""
    return rows.select_related("student__days_picked")


def lay_out(given: Iterable[Prescription], reported: Mapping[int, Collection[date]], on: date) -> StudentWeek:
    """The week of a student's prescriptions on a day; `reported` holds the days of each prescription, by its pk."""
    rows = by_weight(given)
    first = first_day((row.begins for row in rows), on)
    asks = [ask_of(row) for row in rows]
    done = [{(day - first).days for day in reported.get(row.pk, ()) if first <= day <= on} for row in rows]
    picked = days_picked(rows[0].student) if rows else None
    room = room_of(picked, rows[0].student, asks, first) if rows else [0] * 7
    return StudentWeek(first, on, rows, asks, room, done, picked is not None)


def days_picked(student: Student) -> PracticeDays | None:
    """The days that a student picked, if they did."""
    picked: PracticeDays | None = getattr(student, "days_picked", None)
    return picked


def ask_of(row: Prescription) -> Ask:
    """What a prescription asks for; a dose in balls or successes takes the minutes that its drill says it takes."""
    minutes = row.amount if row.unit == Drill.Unit.MINUTES else row.drill.minutes
    return Ask(minutes, row.per_week)


def room_of(picked: PracticeDays | None, student: Student, asks: Sequence[Ask], first: date) -> list[int]:
    """The minutes of each day from the first on: as picked, or as many days as suit what is known of the student."""
    if picked:
        minutes = picked.minutes or WHOLE_DAY
        return [minutes * ((first.weekday() + number) % 7 in picked.weekdays) for number in range(7)]
    days = usual_days(asks, student.practice_days)
    return [(student.practice_minutes or WHOLE_DAY) * (number in days) for number in range(7)]


def by_weight(given: Iterable[Prescription]) -> list[Prescription]:
    """The drills in the order of the latest sheet, what matters most first.

    First those of the latest lesson: for the focus of everyone in a group, then for what the lesson opened, then for
    what it went on with; then those of earlier lessons. Of alike ones the older focus comes first.
    """
    rows = list(given)
    if not rows:
        return rows
    latest = max(rows, key=lambda row: (row.begins, row.pk)).lesson
    return sorted(rows, key=lambda row: weight(row, latest.pk, latest.shared_focus_id))


def weight(row: Prescription, lesson: int, shared_focus: int | None) -> tuple[bool | int, ...]:
    """The place of a drill on the sheet of a lesson; the smaller, the earlier."""
    focus = row.focus
    return focus.pk != shared_focus, focus.opened_in_id != lesson, row.lesson_id != lesson, focus.slot, focus.pk
