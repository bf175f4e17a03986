"""Practice that is asked for and practice that is reported. Nothing reported does not mean nothing done."""

import uuid
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db.models import Count, F, Q

from coachbook.accounts.models import Side, Student
from drills.models import PracticeEntry, Prescription, PrescriptionQuerySet
from drills.practice import doses
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
    """One report for display: `words` are its amount and score."""

    key: uuid.UUID
    day: date
    words: str
    note: str
    by_guardian: bool


@dataclass(frozen=True)
class DrillDay:
    """A prescribed drill on a day, with the reports of the last two weeks, newest first."""

    prescription: Prescription
    on: date
    reports: Sequence[Report]

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
        first, _ = doses.week_of(self.prescription.begins, self.on)
        reported = {report.day for report in self.reports if first <= report.day <= self.on}
        return doses.week_in_words(len(reported), self.prescription.per_week)

    @property
    def week_ends(self) -> date:
        """The last day of this week."""
        return doses.week_of(self.prescription.begins, self.on)[1]

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


def drill_days(prescriptions: Iterable[Prescription], on: date) -> list[DrillDay]:
    """Each prescription on a day, with all reports in one query."""
    rows = {row.pk: row for row in prescriptions}
    reports: dict[int, list[Report]] = defaultdict(list)
    for entry in PracticeEntry.objects.filter(
        prescription__in=rows, is_void=False, day__gte=on - REPORT_PERIOD, day__lte=on
    ):
        reports[entry.prescription_id].append(report_of(entry, rows[entry.prescription_id].unit))
    return [DrillDay(row, on, reports[pk]) for pk, row in rows.items()]


def report_of(entry: PracticeEntry, unit: str) -> Report:
    """An entry for display."""
    words = ", ".join(filter(None, [doses.format_amount(entry.amount, unit), entry.score]))
    by_guardian = entry.source == PracticeEntry.Source.GUARDIAN
    return Report(entry.key, entry.day, words, entry.note, by_guardian)


# --- Reports ------------------------------------------------------------------------------------


def reportable(student: Student, on: date) -> PrescriptionQuerySet:
    """Prescriptions on which practice may still be reported: started, and in force on a day of the last two weeks."""
    started = Prescription.objects.filter(student=student, lesson__status=Lesson.Status.COMPLETE, begins__lte=on)
    ended_lately = Q(ended_on__gt=on - REPORT_PERIOD) & Q(ended_on__gt=F("begins"))
    return started.filter(ended_lately | Q(ended_on=None)).select_related("drill", "focus__fault", "lesson")


def reportable_days(prescription: Prescription, on: date) -> tuple[date, date]:
    """The first and the last day on which practice of it may be reported now."""
    last = min(on, prescription.ended_on - timedelta(days=1)) if prescription.ended_on else on
    return max(on - REPORT_PERIOD, prescription.begins), last


def report_practice(
    *, prescription: Prescription, key: uuid.UUID, source: str, day: date, amount: int, score: str = "", note: str = ""
) -> tuple[PracticeEntry, bool]:
    """Store a report once, and return it with True; for a key that is stored already, the stored row and False."""
    values = {"source": source, "day": day, "amount": amount, "score": score, "note": note}
    return PracticeEntry.objects.get_or_create(key=key, defaults={"prescription": prescription, **values})
