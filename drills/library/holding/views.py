"""What became of the changes for which a drill was given. The model is imported late."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.http import Request
from drills.library.rows.access import get_drill


@require_GET
def drill_holding(request: Request, code: str) -> HttpResponse:
    """For whom a drill was given, what was practised and what held: of a coach's own students, or of all."""
    gate.require(request, Permission.EDIT_LIBRARY)
    from drills.library.holding.gather import gather_holding

    drill = get_drill(request, code)
    students = gate.get_students(request, Permission.READ_NOTES)
    holding = gather_holding(drill, students, request.academy.today(timezone.now()))
    return render(request, "drills/library/holding/holding.html", {"drill": drill, "holding": holding})
