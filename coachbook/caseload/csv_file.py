"""A caseload as CSV by RFC 4180, for a spreadsheet: no cell of it can be taken for a formula."""

import csv
import io
from collections.abc import Iterable, Sequence

from coachbook.caseload.counts import Away
from coachbook.caseload.listing import ListedStudent

HEADINGS = (
    "Student", "Coach", "In care since", "Last lesson", "Next lesson", "Works on", "Practice", "Review overdue since",
    "Absent",
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
