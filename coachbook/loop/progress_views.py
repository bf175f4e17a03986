"""Each fault's history."""

import uuid

from django.http import HttpResponse
from django.views.decorators.http import require_GET

from coachbook.accounts import gate
from coachbook.accounts.gate import Act
from coachbook.http import Request


@require_GET
def progress(request: Request, key: uuid.UUID) -> HttpResponse:
    """Not yet."""
    gate.student(request, Act.READ, key)
    return HttpResponse("not yet")


@require_GET
def progress_explore(request: Request, key: uuid.UUID, number: int) -> HttpResponse:
    """Not yet."""
    gate.student(request, Act.READ, key)
    return HttpResponse("not yet")
