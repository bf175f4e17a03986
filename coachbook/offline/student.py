"""What a student's phone keeps: the drills of today with their doses, and the sheet they were given."""

from datetime import datetime
from typing import Any

from coachbook.accounts.models import Student
from coachbook.http import Request


def student_day(request: Request, student: Student, at: datetime) -> dict[str, Any]:
    """The drills in force."""
    return {"kind": "student"}
