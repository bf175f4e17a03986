"""Practice: what is asked of students, and what is reported of it. Nothing reported is not the same as nothing done."""

import uuid
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Count, F, Q

from coachbook.accounts.models import Side, Student
from drills.models import PracticeEntry, Prescription, PrescriptionQuerySet
from drills.practice import doses
from lessons.models import Lesson
from lessons.wording import as_typed

BACK = timedelta(days=14)  # so far back practice may be reported, and taken back


# --- Counts -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Practice:
    """Sessions asked for and sessions reported."""

    asked: int
    reported: int


def practice_by_student(students: Iterable[Student | int], on: date) -> dict[int, Practice]:
    """Asked and reported up to a day, over all that is in force on it, for every student given (by their pk).

    One query, however many they are. Of each prescription a day counts once, and what was taken back does not.
    """
    sums = {student if isinstance(student, int) else student.pk: Practice(0, 0) for student in students}
    told = Count("entries__day", distinct=True, filter=Q(entries__struck=False, entries__day__lte=on))
    rows = Prescription.objects.in_force(on).filter(student__in=sums).annotate(told=told)
    for pk, begins, days, per_week, ended_on, reported in rows.values_list(
        "student", "begins", "days", "per_week", "ended_on", "told"
    ):
        asked = doses.asked(begins, days, per_week, ended_on, on)
        sums[pk] = Practice(sums[pk].asked + asked, sums[pk].reported + reported)
    return sums


# --- A student's day ----------------------------------------------------------------------------


@dataclass(frozen=True)
class Report:
    """One report as it is read: `words` are its amount and score."""

    key: uuid.UUID
    day: date
    words: str
    note: str
    by_guardian: bool


@dataclass(frozen=True)
class DrillDay:
    """A prescribed drill as it stands on a day, with what was reported of the last two weeks, newest first."""

    prescription: Prescription
    on: date
    reports: Sequence[Report]

    @property
    def side(self) -> Side:
        """The side for which the drill is read."""
        return self.prescription.side

    @property
    def feel(self) -> str:
        """The feel to practise with: as agreed for the focus, or the catalogue's."""
        given, fault = self.prescription, self.prescription.focus.fault
        words = given.feel or (fault.feel if fault else given.drill.feel)
        return as_typed(words, given.lesson.side(given.focus.area))

    @property
    def dose(self) -> str:
        """How much, how often, for how long."""
        given = self.prescription
        return doses.dose_in_words(given.amount, given.unit, given.per_week, given.days)

    @property
    def week(self) -> str:
        """How far this week has come; a day counts once."""
        first, _ = doses.week_of(self.prescription.begins, self.on)
        reported = {report.day for report in self.reports if first <= report.day <= self.on}
        return doses.week_in_words(len(reported), self.prescription.per_week)

    @property
    def week_ends(self) -> date:
        """The last day of this week."""
        return doses.week_of(self.prescription.begins, self.on)[1]

    @property
    def course(self) -> str:
        """How far the whole dose has come."""
        given = self.prescription
        return doses.course_in_words(given.begins, given.days, given.review_on, self.on)

    @property
    def today(self) -> list[Report]:
        """What was reported of this day."""
        return [report for report in self.reports if report.day == self.on]

    @property
    def earlier(self) -> list[Report]:
        """What was reported of the days before."""
        return [report for report in self.reports if report.day < self.on]


def drill_days(prescriptions: Iterable[Prescription], on: date) -> list[DrillDay]:
    """Each prescription as it stands on a day, in one query for all that was reported of them."""
    rows = {row.pk: row for row in prescriptions}
    told: dict[int, list[Report]] = defaultdict(list)
    for entry in PracticeEntry.objects.filter(prescription__in=rows, struck=False, day__gte=on - BACK, day__lte=on):
        told[entry.prescription_id].append(report_of(entry, rows[entry.prescription_id].unit))
    return [DrillDay(row, on, told[pk]) for pk, row in rows.items()]


def report_of(entry: PracticeEntry, unit: str) -> Report:
    """An entry as it is read."""
    words = ", ".join(filter(None, [doses.counted(entry.amount, unit), entry.score]))
    by_guardian = entry.source == PracticeEntry.Source.GUARDIAN
    return Report(entry.key, entry.day, words, entry.note, by_guardian)


# --- Reports ------------------------------------------------------------------------------------


def reportable(student: Student, on: date) -> PrescriptionQuerySet:
    """What a student may still report on: begun, and in force on some day of the last two weeks."""
    begun = Prescription.objects.filter(student=student, lesson__status=Lesson.Status.COMPLETE, begins__lte=on)
    held = Q(ended_on__gt=on - BACK) & Q(ended_on__gt=F("begins"))
    return begun.filter(held | Q(ended_on=None)).select_related("drill", "focus__fault", "lesson")


def reportable_days(prescription: Prescription, on: date) -> tuple[date, date]:
    """The first and the last day on which practice of it may be reported now."""
    last = min(on, prescription.ended_on - timedelta(days=1)) if prescription.ended_on else on
    return max(on - BACK, prescription.begins), last


def report_practice(
    *, prescription: Prescription, key: uuid.UUID, source: str, day: date, amount: int, score: str = "", note: str = ""
) -> tuple[PracticeEntry, bool]:
    """Write practice down once: whoever sends the same key again meets the row as it stands, and False."""
    values = {"source": source, "day": day, "amount": amount, "score": score, "note": note}
    return PracticeEntry.objects.get_or_create(key=key, defaults={"prescription": prescription, **values})
