"""What a guardian's phone keeps: the first names of their children, and the drills of each for today."""

from datetime import datetime
from typing import Any

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.http import Request
from coachbook.offline.student import drill_words, drills_today
from drills.models import PracticeEntry


def guardian_day(request: Request, at: datetime) -> dict[str, Any]:
    """Each child whose practice this person reports; nothing for a person without one. No sheet, no focus, no test."""
    on = request.academy.today(at)
    children = list(gate.get_students(request, Permission.REPORT_PRACTICE).order_by("name", "pk"))
    if not children:
        return {"kind": "none"}
    drills = drills_today(children, on)
    return {
        "kind": "guardian",
        "on": on.isoformat(),
        "felt": PracticeEntry.Felt.choices,
        "children": [
            {
                "student": str(child.key),
                "name": child.name.split()[0],
                "drills": [drill_words(day, request.academy.units) for day in drills[child.pk]],
            }
            for child in children
        ],
    }
