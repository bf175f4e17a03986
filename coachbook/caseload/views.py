"""The manager's view over all coaches."""

import uuid

from django.http import HttpResponse
from django.views.decorators.http import require_GET, require_http_methods

from coachbook.accounts import gate
from coachbook.accounts.gate import Act
from coachbook.http import Request


@require_GET
def caseload(request: Request) -> HttpResponse:
    """Not yet."""
    gate.enter(request, Act.RUN)
    return HttpResponse("not yet")


@require_GET
def coach_caseload(request: Request, coach: uuid.UUID) -> HttpResponse:
    """Not yet."""
    gate.enter(request, Act.RUN)
    return HttpResponse("not yet")


@require_http_methods(["GET", "POST"])
def student_move(request: Request, key: uuid.UUID) -> HttpResponse:
    """Not yet."""
    gate.student(request, Act.RUN, key)
    return HttpResponse("not yet")
