"""The drill library: the list of drills, and one drill in full, worded for the reader's side."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Area, Side, User
from coachbook.http import Request
from drills.models import Drill


@require_GET
def drills(request: Request) -> HttpResponse:
    """Every drill, by area."""
    gate.require(request, Permission.USE_SITE)
    drills = Drill.objects.filter(archived=False)
    by_area = [(area, own_side(request.user, area), [d for d in drills if d.area == area]) for area in Area]
    return render(request, "drills/library/drills.html", {"by_area": by_area})


@require_GET
def drill(request: Request, code: str) -> HttpResponse:
    """One drill in full: a student reads it for their own side, anybody else for the side they choose."""
    gate.require(request, Permission.USE_SITE)
    drill = get_object_or_404(Drill, code=code)
    chosen = request.GET.get("side", "")
    side = chosen if chosen in Side.values else own_side(request.user, drill.area)
    return render(request, "drills/library/drill.html", {"drill": drill, "side": side, "sides": Side.values})


def own_side(user: User, area: str) -> Side | None:
    """The side for which a text is worded: the student's own or the child's; None for lead and trail, for a coach."""
    if user.is_coach or user.is_manager:
        return None
    guardianship = user.guardianships.select_related("student").first()
    student = getattr(user, "student", None) or (guardianship and guardianship.student)
    return student.side(area) if student else Side.RIGHT
