"""On which days a student practises: the one place that says so to calendars and reminders."""

from collections.abc import Collection, Iterator
from datetime import date, timedelta

from coachbook.accounts.models import Pause, Student
from coachbook.diary.absences.reporting import absences_of
from coachbook.diary.models import Absence
from drills.models import Prescription
from drills.practice.doses import sessions_asked

AT_REST = (Absence.Reason.ILL, Absence.Reason.AWAY)


def practice_days(students: Collection[int], first: date, last: date) -> dict[int, list[date]]:
    """The practice days of these students (their ids), both ends included, by student and in order; one query.

    A day is one on which a dose that is in force asks for one session more than on the day before.
    """
    found: dict[int, set[date]] = {pk: set() for pk in students}
    for row in Prescription.objects.in_force(first).filter(student__in=list(students)):
        found[row.student_id] |= set(dose_days(row, first, last))
    return {pk: sorted(days) for pk, days in found.items()}


def dose_days(row: Prescription, first: date, last: date) -> Iterator[date]:
    """The days from the first to the last on which a dose asks for a session."""

    def asked(on: date) -> int:
        return sessions_asked(row.begins, row.days, row.per_week, row.ended_on, on)

    for day in days_between(max(first, row.begins), min(last, row.last_day)):
        if asked(day) > asked(day - timedelta(days=1)):
            yield day


def days_between(first: date, last: date) -> Iterator[date]:
    """Every day from the first to the last, none where the last comes before it."""
    return (first + timedelta(days=number) for number in range((last - first).days + 1))


def expected_days(students: Collection[Student], first: date, last: date) -> dict[int, list[date]]:
    """The practice days on which something is expected: who has left, pauses, is ill or away is left in peace."""
    here = [student.pk for student in students if student.status != Student.Status.LEFT]
    resting = days_of_rest(here, first, last)
    found = practice_days(here, first, last)
    return {pk: [day for day in days if day not in resting[pk]] for pk, days in found.items()}


def days_of_rest(students: Collection[int], first: date, last: date) -> dict[int, set[date]]:
    """The days on which these students (their ids) pause, are ill or away; two queries."""
    found: dict[int, set[date]] = {pk: set() for pk in students}
    for pause in Pause.objects.between(first, last).filter(student__in=list(students)):
        found[pause.student_id] |= set(days_between(max(first, pause.since), min(last, pause.until or last)))
    for pk, rows in absences_of(students, first, last).items():
        for row in rows:
            if row.reason in AT_REST:
                found[pk] |= set(days_between(max(first, row.first_day), min(last, row.last_day)))
    return found
