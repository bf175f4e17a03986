"""The brief before a lesson: one screen, read with one hand."""

import uuid

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.http import Request
from coachbook.loop.brief.gather import brief_of


@require_GET
def brief(request: Request, key: uuid.UUID) -> HttpResponse:
    """What was agreed, what was practised, what to look at first, and the way into the log."""
    student = gate.get_student(request, Permission.READ_NOTES, key)
    context = {
        "student": student,
        "brief": brief_of(student, academy=request.academy, reader=request.user, at=timezone.now()),
        "teaches": gate.is_allowed(student, Permission.LOG_LESSONS),
    }
    return render(request, "loop/brief/brief.html", context)
