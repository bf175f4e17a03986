"""Writing a lesson down."""

import uuid

from django.http import HttpResponse
from django.views.decorators.http import require_GET, require_http_methods

from coachbook.accounts import gate
from coachbook.accounts.gate import Act
from coachbook.http import Request


@require_GET
def lesson_new(request: Request, key: uuid.UUID) -> HttpResponse:
    """Not yet."""
    gate.student(request, Act.TEACH, key)
    return HttpResponse("not yet")


@require_http_methods(["GET", "POST"])
def lesson(request: Request, key: uuid.UUID, lesson_key: uuid.UUID) -> HttpResponse:
    """Not yet."""
    gate.student(request, Act.TEACH, key)
    return HttpResponse("not yet")
