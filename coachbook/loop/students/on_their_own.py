"""Who was taught by nobody for long still has drills that make sense: those of the last sheet, and it is said."""

import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from coachbook.accounts.models import Academy, Student
from coachbook.loop.models import valid_sheet_key
from drills.models import Prescription
from lessons.models import Lesson
from lessons.models.record import LessonQuerySet

LONG = timedelta(days=56)  # eight weeks without a lesson; common practice, no source


@dataclass(frozen=True)
class LastSheet:
    """The lesson that a student's drills are from: its day, its sheet where one is valid, and what it gave.

    `drills` are named where none is in force any more.
    """

    day: date
    sheet_key: uuid.UUID | None
    drills: tuple[Prescription, ...] = ()


def last_sheet(student: Student, on: date, academy: Academy, *, has_drills: bool) -> LastSheet | None:
    """What a student goes on with who had no lesson for long; None for anybody else, and where nothing was given."""
    latest = lessons_of(student).first()
    if latest is None or on - academy.today(latest.session.starts_at) < LONG:
        return None
    if has_drills:
        return sheet_of(latest, academy)
    giving = lessons_of(student).filter(prescriptions__isnull=False).first()
    if giving is None:
        return None
    given = giving.prescriptions.select_related("drill", "lesson").order_by("pk")
    return sheet_of(giving, academy, one_of_each(given))


def sheet_of(lesson: Lesson, academy: Academy, drills: Iterable[Prescription] = ()) -> LastSheet:
    """The sheet of a lesson that was read with its key."""
    return LastSheet(academy.today(lesson.session.starts_at), getattr(lesson, "sheet_key", None), tuple(drills))


def lessons_of(student: Student) -> LessonQuerySet:
    """The finished lessons to which the student came, the latest first, each with the key of its sheet."""
    came = student.lessons.complete().filter(attendance=Lesson.Attendance.KEPT).select_related("session")
    return came.annotate(sheet_key=valid_sheet_key()).order_by("-session__starts_at", "-pk")


def one_of_each(given: Iterable[Prescription]) -> list[Prescription]:
    """The first of those that give the same drill."""
    return list({row.drill_id: row for row in reversed(list(given))}.values())[::-1]
