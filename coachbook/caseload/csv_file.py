"""A caseload as CSV by RFC 4180, for a spreadsheet: no cell of it can be taken for a formula."""

import csv
import io
from collections.abc import Iterable, Mapping, Sequence

from coachbook.caseload.counts import StudentInCare

HEADINGS = (
    "Student", "Coach", "In care since", "Last lesson", "Next lesson", "Works on", "Practice", "Review overdue since",
)  # fmt: skip
FORMULA = ("=", "+", "-", "@", "\t", "\r")


def safe_cell(text: str) -> str:
    """The text with an apostrophe before what a spreadsheet would compute."""
    return f"'{text}" if text.startswith(FORMULA) else text


def write_csv(rows: Iterable[Sequence[str]]) -> bytes:
    """The rows with the byte order mark by which spreadsheets know UTF-8."""
    file = io.StringIO(newline="")
    csv.writer(file).writerows([safe_cell(cell) for cell in row] for row in rows)
    return file.getvalue().encode("utf-8-sig")


def caseload_csv(by_coach: Mapping[str, Iterable[StudentInCare]]) -> bytes:
    """A line for each student of each coach, by name; days are written as 2026-06-30."""
    lines = [cells(student, coach) for coach, students in by_coach.items() for student in students]
    return write_csv([HEADINGS, *sorted(lines)])


def cells(student: StudentInCare, coach: str) -> tuple[str, ...]:
    """One line."""
    days = [student.in_care_since, student.last, student.next, next(iter(student.overdue), None)]
    since, last, following, overdue = (day.isoformat() if day else "" for day in days)
    return student.name, coach, since, last, following, "; ".join(student.focuses), student.practice, overdue
