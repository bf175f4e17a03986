"""A caseload as a table for a spreadsheet."""

from collections.abc import Iterable, Mapping

from coachbook.caseload.counts import StudentInCare
from coachbook.csv_file import write_csv

HEADINGS = (
    "Student", "Coach", "In care since", "Last lesson", "Next lesson", "Works on", "Practice", "Review overdue since",
)  # fmt: skip


def caseload_csv(by_coach: Mapping[str, Iterable[StudentInCare]]) -> bytes:
    """A line for each student of each coach, by name; days are written as 2026-06-30."""
    lines = [cells(student, coach) for coach, students in by_coach.items() for student in students]
    return write_csv([HEADINGS, *sorted(lines)])


def cells(student: StudentInCare, coach: str) -> tuple[str, ...]:
    """One line."""
    days = [student.in_care_since, student.last, student.next, next(iter(student.overdue), None)]
    since, last, following, overdue = (day.isoformat() if day else "" for day in days)
    return student.name, coach, since, last, following, "; ".join(student.focuses), student.practice, overdue
