"""The take-home sheet."""

import uuid

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_GET, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Act
from coachbook.http import Request


@require_GET
def sheet(request: Request, key: uuid.UUID, sheet_key: uuid.UUID) -> HttpResponse:
    """Not yet."""
    gate.student(request, Act.READ, key)
    return HttpResponse("not yet")


@require_GET
def sheet_pdf(request: Request, key: uuid.UUID, sheet_key: uuid.UUID) -> HttpResponse:
    """Not yet."""
    gate.student(request, Act.READ, key)
    return HttpResponse("not yet")


@require_POST
def sheet_void(request: Request, key: uuid.UUID, sheet_key: uuid.UUID) -> HttpResponse:
    """Not yet."""
    gate.student(request, Act.TEACH, key)
    return HttpResponse("not yet")


@require_GET
def shared_sheet(request: HttpRequest, token: str) -> HttpResponse:
    """Not yet."""
    return HttpResponse("not yet")
