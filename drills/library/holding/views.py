"""What became of the changes for which a drill was given. The model is imported late."""

from django.db.models import Q
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.http import Request
from drills.models import Drill


@require_GET
def drill_holding(request: Request, code: str) -> HttpResponse:
    """For whom a drill was given, what was practised and what held: of a coach's own students, or of all."""
    gate.require(request, Permission.EDIT_LIBRARY)
    from drills.library.holding.gather import gather_holding

    drill = get_object_or_404(Drill, seen_by(request), code=code)
    students = gate.get_students(request, Permission.READ_NOTES)
    holding = gather_holding(drill, students, request.academy.today(timezone.now()))
    return render(request, "drills/library/holding/holding.html", {"drill": drill, "holding": holding})


def seen_by(request: Request) -> Q:
    """The drills that a person may open here: the academy's, their own, and for a manager those that are offered."""
    found = Q(owner=None)
    if request.user.is_coach:
        found |= Q(owner=request.user.coach)
    return found | Q(offered_at__isnull=False) if request.user.is_manager else found
