"""Practice that is asked for and practice that is reported. Nothing reported does not mean nothing done."""

import uuid
from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db import transaction
from django.db.models import Count, F, Q, QuerySet

from coachbook.accounts.models import Side, Student
from drills.models import PracticeEntry, Prescription, PrescriptionQuerySet
from drills.practice import doses
from drills.practice.marks import harder
from drills.practice.scores import Score, Scores
from lessons.models import Lesson
from lessons.wording import render_typed

REPORT_PERIOD = timedelta(days=14)  # practice of these days may be reported and undone; common practice, no source


# --- Counts -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Practice:
    """Sessions asked for and sessions reported."""

    asked: int
    reported: int


def practice_by_student(students: Iterable[Student | int], on: date) -> dict[int, Practice]:
    """Sessions asked for and reported up to a day, over the prescriptions in force on it, by the student's pk.

    One query for all students. A day counts once for each prescription; undone reports do not count.
    """
    sums = {student if isinstance(student, int) else student.pk: Practice(0, 0) for student in students}
    rows = Prescription.objects.in_force(on).filter(student__in=sums).annotate(days_reported=days_reported(on))
    for pk, begins, days, per_week, ended_on, reported in rows.values_list(
        "student", "begins", "days", "per_week", "ended_on", "days_reported"
    ):
        asked = doses.sessions_asked(begins, days, per_week, ended_on, on)
        sums[pk] = Practice(sums[pk].asked + asked, sums[pk].reported + reported)
    return sums


def days_reported(on: date) -> Count:
    """An annotation: on how many days up to `on` practice of a prescription was reported."""
    return Count("entries__day", distinct=True, filter=Q(entries__is_void=False, entries__day__lte=on))


def practice_of(prescriptions: Iterable[Any], on: date) -> Practice:
    """Sessions asked for and reported up to a day, over prescriptions annotated with `days_reported`."""
    given = list(prescriptions)
    asked = sum(doses.sessions_asked(each.begins, each.days, each.per_week, each.ended_on, on) for each in given)
    return Practice(asked, sum(each.days_reported for each in given))


# --- A student's day ----------------------------------------------------------------------------


@dataclass(frozen=True)
class Report:
    """One report for display: `words` are its amount, its score and how it felt."""

    key: uuid.UUID
    day: date
    words: str
    note: str
    by_guardian: bool
    filled_in: bool


@dataclass(frozen=True)
class DrillDay:
    """A prescribed drill on a day, with the reports of the last two weeks, newest first.

    `week_begins` is the first day of the student's week, in which this day lies.
    """

    prescription: Prescription
    on: date
    week_begins: date
    reports: Sequence[Report]
    scores: Scores | None = None

    @property
    def next_mark(self) -> str:
        """A mark one harder, in words, where this one was met often enough since the drill was given."""
        given = self.prescription
        is_due = self.scores is not None and self.scores.is_due_for_more(given.begins)
        return harder(given.done_well) if is_due else ""

    @property
    def dose_today(self) -> str:
        """How much at a time."""
        return doses.format_amount(self.prescription.amount, self.prescription.unit)

    @property
    def side(self) -> Side:
        """The side for which the drill is worded."""
        return self.prescription.side

    @property
    def feel(self) -> str:
        """The feel to practise with: as agreed for the focus, or the catalogue's."""
        given, fault = self.prescription, self.prescription.focus.fault
        words = given.feel or (fault.feel if fault else given.drill.feel)
        return render_typed(words, given.lesson.side(given.focus.area))

    @property
    def dose(self) -> str:
        """How much, how often, for how long."""
        given = self.prescription
        return doses.dose_in_words(given.amount, given.unit, given.per_week, given.days)

    @property
    def week(self) -> str:
        """The sessions reported this week, in words; a day counts once."""
        reported = {report.day for report in self.reports if self.week_begins <= report.day <= self.on}
        return doses.week_in_words(len(reported), self.prescription.per_week)

    @property
    def week_ends(self) -> date:
        """The last day of this week."""
        return doses.week_of(self.week_begins, self.on)[1]

    @property
    def course(self) -> str:
        """The day of the dose, in words."""
        given = self.prescription
        return doses.course_in_words(given.begins, given.days, given.review_on, self.on)

    @property
    def today(self) -> list[Report]:
        """The reports of this day."""
        return [report for report in self.reports if report.day == self.on]

    @property
    def earlier(self) -> list[Report]:
        """The reports of the days before."""
        return [report for report in self.reports if report.day < self.on]


def drill_days(prescriptions: Iterable[Prescription], on: date, *, are_all: bool = False) -> list[DrillDay]:
    """Each prescription on a day, of one student or of several, with all reports in one query.

    `are_all` says that these are all of each student's that are in force, so that nothing has to be asked for the week.
    """
    rows = {row.pk: row for row in prescriptions}
    reports: dict[int, list[Report]] = defaultdict(list)
    for entry in lately(PracticeEntry.objects.filter(prescription__in=rows, is_void=False, day__lte=on), on):
        reports[entry.prescription_id].append(report_of(entry, rows[entry.prescription_id].unit))
    scores = scores_of(rows.values(), on)
    begins = first_days(rows.values(), on, are_all=are_all)
    return [DrillDay(row, on, begins[row.student_id], reports[pk], scores.get(pk)) for pk, row in rows.items()]


def first_days(rows: Collection[Prescription], on: date, *, are_all: bool) -> dict[int, date]:
    """The first day of each student's week, by their id: as it is planned, over all that are in force; one query."""
    own = days_by_student((row.student_id, row.begins) for row in rows)
    given = Prescription.objects.in_force(on).filter(student__in=own).order_by()
    planned = days_by_student(given.values_list("student", "begins") if own and not are_all else ())
    return {student: doses.first_day(planned.get(student) or days, on) for student, days in own.items()}


def days_by_student(pairs: Iterable[tuple[int, date]]) -> dict[int, list[date]]:
    """Days, gathered by the id of a student."""
    found: dict[int, list[date]] = defaultdict(list)
    for student, day in pairs:
        found[student].append(day)
    return found


def scores_of(prescriptions: Iterable[Prescription], on: date) -> dict[int, Scores]:
    """The scores of each prescription that has a mark, by its pk: all of the student's in that drill; one query."""
    marked = {row: mark for row in prescriptions if (mark := row.mark_to_reach)}
    if not marked:
        return {}
    entries = PracticeEntry.objects.filter(
        prescription__student__in={row.student_id for row in marked},
        prescription__drill__in={row.drill_id for row in marked},
        is_void=False,
        score__isnull=False,
        day__lte=on,
    ).order_by("day", "pk")
    found: dict[tuple[int, int], list[Score]] = defaultdict(list)
    columns = ("prescription__student", "prescription__drill", "day", "score", "score_of")
    for student, drill, day, score, of in entries.values_list(*columns):
        found[student, drill].append(Score(day, score, of))
    return {row.pk: Scores.of(mark, found[row.student_id, row.drill_id]) for row, mark in marked.items()}


def lately(entries: QuerySet[PracticeEntry], on: date) -> QuerySet[PracticeEntry]:
    """Entries of the last two weeks, or filled in then: these may be undone."""
    since = on - REPORT_PERIOD
    return entries.filter(Q(day__gte=since) | Q(reported_on__gte=since))


def report_of(entry: PracticeEntry, unit: str) -> Report:
    """An entry for display."""
    felt = f"felt {entry.get_felt_display().lower()}" if entry.felt else ""
    words = ", ".join(filter(None, [doses.format_amount(entry.amount, unit), entry.score_in_words, felt]))
    by_guardian = entry.source == PracticeEntry.Source.GUARDIAN
    return Report(entry.key, entry.day, words, entry.note, by_guardian, entry.is_filled_in)


# --- Reports ------------------------------------------------------------------------------------


def started(student: Student, on: date) -> PrescriptionQuerySet:
    """Prescriptions of a student that were ever to be practised, up to a day."""
    given = Prescription.objects.filter(student=student, lesson__status=Lesson.Status.COMPLETE, begins__lte=on)
    return given.select_related("drill", "focus__fault", "lesson")


def reportable(student: Student, on: date) -> PrescriptionQuerySet:
    """Prescriptions on which practice may still be reported: started, and in force on a day of the last two weeks."""
    ended_lately = Q(ended_on__gt=on - REPORT_PERIOD) & Q(ended_on__gt=F("begins"))
    return started(student, on).filter(ended_lately | Q(ended_on=None))


def reportable_days(prescription: Prescription, on: date) -> tuple[date, date]:
    """The first and the last day on which practice of it may be reported now."""
    last = min(on, prescription.ended_on - timedelta(days=1)) if prescription.ended_on else on
    return max(on - REPORT_PERIOD, prescription.begins), last


class AlreadyReportedError(Exception):
    """Practice of this drill on this day was reported already, at another address."""

    def __init__(self, entry: PracticeEntry) -> None:
        super().__init__("already reported")
        self.entry = entry


@transaction.atomic
def report_practice(
    *, prescription: Prescription, key: uuid.UUID, source: str, on: date, another: bool = False, **values: Any
) -> tuple[PracticeEntry, bool]:
    """Store a report once, and return it with True; for a key that is stored already, the stored row and False.

    `on` is the day on which it is reported; `values` are other columns of an entry, with `day` and `amount`.
    Raises AlreadyReportedError where there is a report of that day, unless it is `another`. Two that come at the same
    time wait for each other.
    """
    Prescription.objects.select_for_update().get(pk=prescription.pk)
    if stored := prescription.entries.filter(key=key).first():
        return stored, False
    if not another and (entry := prescription.entries.filter(day=values["day"], is_void=False).first()):
        raise AlreadyReportedError(entry)
    return prescription.entries.create(key=key, source=source, reported_on=on, **values), True
