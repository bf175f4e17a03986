"""The student's day."""

import uuid

from django.http import HttpResponse
from django.views.decorators.http import require_GET, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Act
from coachbook.http import Request


@require_GET
def today(request: Request, key: uuid.UUID) -> HttpResponse:
    """Not yet."""
    gate.student(request, Act.READ, key)
    return HttpResponse("not yet")


@require_POST
def practice_report(
    request: Request, key: uuid.UUID, prescription_key: uuid.UUID, entry_key: uuid.UUID
) -> HttpResponse:
    """Not yet."""
    gate.student(request, Act.PRACTISE, key)
    return HttpResponse("not yet")


@require_POST
def practice_strike(
    request: Request, key: uuid.UUID, prescription_key: uuid.UUID, entry_key: uuid.UUID
) -> HttpResponse:
    """Not yet."""
    gate.student(request, Act.PRACTISE, key)
    return HttpResponse("not yet")
