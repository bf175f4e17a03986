"""A coach's days: the appointments, and how far the log of each student's lesson is."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TypeVar

from django.db.models import Prefetch
from django.utils import timezone

from coachbook.accounts.models import Academy, Coach, Student, StudentQuerySet
from coachbook.diary.absences.reporting import absence_on, students_with_absences
from coachbook.diary.models import Absence, Appointment
from coachbook.diary.scheduling import day_bounds
from coachbook.loop.models import Sheet
from lessons.models import Lesson, Session

Row = TypeVar("Row")

SOON = timedelta(minutes=15)  # so long before the start the log is the next step, no longer the brief


@dataclass(frozen=True)
class Visit:
    """One student on one day."""

    student: Student
    lesson: Lesson | None
    absence: Absence | None = None  # of this day

    @property
    def is_draft(self) -> bool:
        """Whether the log of this day was begun and not finished."""
        return self.lesson is not None and self.lesson.status == Lesson.Status.DRAFT

    @property
    def sheet(self) -> Sheet | None:
        """The sheet of this day's lesson, once it is finished."""
        return next(iter(self.lesson.sheets.all()), None) if self.lesson else None


@dataclass(frozen=True)
class Slot:
    """An appointment with its visits; `holder` is a student under whom this coach may change it."""

    appointment: Appointment
    visits: list[Visit]
    holder: Student | None
    is_due: bool
    has_begun: bool
    is_for_group: bool  # whether one group log may hold its students: two or more, and nobody logged yet

    @property
    def is_free(self) -> bool:
        """Whether none of its students can come, so that the time is free."""
        planned = self.appointment.status == Appointment.Status.PLANNED
        return planned and all(visit.absence and not visit.lesson for visit in self.visits)

    @property
    def group(self) -> Session | None:
        """The group in which its students were logged."""
        return next(iter(groups_among(self.visits)), None)


@dataclass(frozen=True)
class Day:
    """One day: what was agreed, and the lessons that nobody had agreed on."""

    on: date
    slots: list[Slot]
    others: list[Visit]

    @property
    def groups(self) -> list[Session]:
        """The groups of the day without an appointment."""
        return groups_among(self.others)


def groups_among(visits: Iterable[Visit]) -> list[Session]:
    """The groups in which students were logged."""
    sessions = (visit.lesson.session for visit in visits if visit.lesson)
    return list(dict.fromkeys(session for session in sessions if session.kind == Session.Kind.GROUP))


def days_of(
    coach: Coach | None, academy: Academy, first: date, count: int, students: StudentQuerySet, at: datetime
) -> tuple[list[Day], set[int]]:
    """The days from `first` on, and the ids of the students that this reader may open: `students`; in four queries."""
    begins, before = day_bounds(academy, first, count)
    planned = on_each_day(Appointment.objects.filter(coach=coach).between(begins, before), lambda row: row.starts_at)
    logged = on_each_day(lessons_between(coach, begins, before), lambda lesson: lesson.session.starts_at)
    reachable, absences = students_with_absences(students, first, first + timedelta(days=count - 1))
    dates = (first + timedelta(days=number) for number in range(count))
    return [day_of(on, planned[on], logged[on], absences, reachable, at) for on in dates], reachable


def day_of(
    on: date,
    planned: list[Appointment],
    logged: list[Lesson],
    absences: Mapping[int, list[Absence]],
    reachable: set[int],
    at: datetime,
) -> Day:
    """Appointments and lessons of one day brought together; `absences` by the ids of students."""
    matched = match_lessons(planned, logged)
    absent = {pk: row for pk, rows in absences.items() if (row := absence_on(rows, on))}
    slots = [slot_of(row, matched, absent, reachable, at) for row in planned]
    return Day(on, slots, others_of(matched.values(), logged, reachable))


def match_lessons(planned: Iterable[Appointment], logged: Iterable[Lesson]) -> dict[tuple[int, int], Lesson]:
    """The lesson for each appointment and student, by their ids.

    Lessons are dealt out in the order of the day, and to an appointment that was missed or cancelled only if no other
    one of that student is left; for a clip nobody comes.
    """
    waiting: dict[int, list[Lesson]] = defaultdict(list)
    for lesson in logged:
        if lesson.session.kind != Session.Kind.CLIP:
            waiting[lesson.student_id].append(lesson)
    places = [(row, student.pk) for row in sorted(planned, key=is_off) for student in row.students.all()]
    return {(row.pk, pk): waiting[pk].pop(0) for row, pk in places if waiting[pk]}


def is_off(row: Appointment) -> bool:
    """Whether it was missed or cancelled."""
    return row.status in (Appointment.Status.MISSED, Appointment.Status.CANCELLED)


def lessons_between(coach: Coach | None, begins: datetime, before: datetime) -> Iterable[Lesson]:
    """What the coach logged in a time, with the sheets that stand."""
    taught = Lesson.objects.filter(session__coach=coach, session__starts_at__gte=begins, session__starts_at__lt=before)
    taught = taught.select_related("session", "student").order_by("session__starts_at", "pk")
    return taught.prefetch_related(Prefetch("sheets", Sheet.objects.valid()))


def on_each_day(rows: Iterable[Row], moment: Callable[[Row], datetime]) -> dict[date, list[Row]]:
    """Rows by their day in the academy's zone."""
    found: dict[date, list[Row]] = defaultdict(list)
    for row in rows:
        found[timezone.localdate(moment(row))].append(row)
    return found


def slot_of(
    row: Appointment,
    matched: Mapping[tuple[int, int], Lesson],
    absent: Mapping[int, Absence],
    reachable: set[int],
    at: datetime,
) -> Slot:
    """An appointment with the lesson of each of its students, and who cannot come."""
    students = list(row.students.all())
    visits = [Visit(student, matched.get((row.pk, student.pk)), absent.get(student.pk)) for student in students]
    holder = next((student for student in students if student.pk in reachable), None)
    is_open = row.status in (Appointment.Status.PLANNED, Appointment.Status.KEPT)
    is_logged = any(visit.lesson for visit in visits)
    is_for_group = is_open and not is_logged and sum(student.pk in reachable for student in students) > 1
    return Slot(row, visits, holder, row.has_begun(at + SOON), row.has_begun(at), is_for_group)


def others_of(expected: Iterable[Lesson], logged: Iterable[Lesson], reachable: set[int]) -> list[Visit]:
    """Lessons of the day without an appointment, of students within reach."""
    planned = {lesson.pk for lesson in expected}
    return [Visit(row.student, row) for row in logged if row.pk not in planned and row.student_id in reachable]
