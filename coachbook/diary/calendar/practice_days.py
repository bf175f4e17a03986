"""On which days a student practises: the one place that says so to calendars and reminders."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from datetime import date, timedelta

from coachbook.accounts.models import Pause, Student
from coachbook.diary.absences.reporting import absences_of
from coachbook.diary.models import Absence
from drills.models import PracticeEntry, Prescription
from drills.practice.week.gather import lay_out, with_days_picked

WEEK = timedelta(days=7)
AT_REST = (Absence.Reason.ILL, Absence.Reason.AWAY)


def practice_days(students: Collection[int], first: date, last: date) -> dict[int, list[date]]:
    """The practice days of these students (their ids) from today, `first`, to `last`, in order; two queries.

    This week's are those that the week of the student still has; a later week is laid out as if nothing were missed.
    """
    given: dict[int, list[Prescription]] = {pk: [] for pk in students}
    for row in with_days_picked(Prescription.objects.in_force(first).filter(student__in=list(students))):
        given[row.student_id].append(row)
    reported: dict[int, set[date]] = defaultdict(set)
    entries = PracticeEntry.objects.filter(prescription__student__in=list(students), is_void=False)
    for pk, day in entries.filter(day__gt=first - WEEK, day__lte=first).values_list("prescription", "day"):
        reported[pk].add(day)
    return {pk: list(days_of_weeks(rows, reported, first, last)) for pk, rows in given.items()}


def days_of_weeks(
    given: Collection[Prescription], reported: Mapping[int, Collection[date]], first: date, last: date
) -> Iterator[date]:
    """The days with something to do, week by week, each with the drills whose days are not over by then."""
    on = first
    while on <= last:
        rows = [row for row in given if on == first or row.last_day >= on]
        week = lay_out(rows, reported, on)
        yield from (day for day in days_between(on, min(last, week.days[-1])) if rows and week.planned_on(day))
        on = week.days[-1] + timedelta(days=1)


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
