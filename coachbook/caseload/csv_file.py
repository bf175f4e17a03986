"""A caseload as a table for a spreadsheet."""

from collections.abc import Iterable

from coachbook.caseload.counts import Away
from coachbook.caseload.listing import ListedStudent
from coachbook.csv_file import write_csv

HEADINGS = (
    "Student", "Coach", "In care since", "Last lesson", "Next lesson", "Works on", "Practice", "Review overdue since",
    "Absent",
)  # fmt: skip


def caseload_csv(rows: Iterable[ListedStudent]) -> bytes:
    """A line for each student, in their order; days are written as 2026-06-30."""
    return write_csv([HEADINGS, *map(cells, rows)])


def cells(row: ListedStudent) -> tuple[str, ...]:
    """One line."""
    student = row.student
    days = [student.in_care_since, student.last, student.next, next(iter(student.overdue), None)]
    since, last, following, overdue = (day.isoformat() if day else "" for day in days)
    focuses, absences = "; ".join(student.focuses), "; ".join(map(absence_cell, student.absences))
    return student.name, "; ".join(row.coaches), since, last, following, focuses, student.practice, overdue, absences


def absence_cell(absence: Away) -> str:
    """The days on which somebody cannot come, and why."""
    days = sorted({absence.first, absence.last})
    return f"{' to '.join(day.isoformat() for day in days)} {absence.reason}"
