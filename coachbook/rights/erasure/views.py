"""The pages of an erasure: asking, agreeing, calling it off, carrying it out."""

import uuid
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Student
from coachbook.http import Request
from coachbook.rights.erasure.asking import agree, ask_for_erasure, call_off, planned_for, second_people
from coachbook.rights.erasure.carry_out import erase_student, overwrite_deleted
from coachbook.rights.models import GRACE, ErasureRequest

NOT_TICKED = "Tick the box if you are sure that everything is to be erased."
NOT_YET = "This cannot be carried out yet. Nothing was erased."


@require_GET
def erasure(request: Request, key: uuid.UUID) -> HttpResponse:
    """What an erasure comes to, and the one that is planned."""
    student = gate.get_student(request, Permission.ERASE_RECORD, key)
    return render_erasure(request, student)


@require_POST
def erasure_ask(request: Request, key: uuid.UUID) -> HttpResponse:
    """Plan the erasure of a student."""
    student = gate.get_student(request, Permission.ERASE_RECORD, key)
    if "sure" not in request.POST:
        return render_erasure(request, student, NOT_TICKED)
    row = ask_for_erasure(student, by=request.user, academy=request.academy, at=timezone.now())
    if row is None:
        messages.warning(request, "An erasure is planned already: see below.")
    return redirect("erasure", key=key)


@require_POST
def erasure_agree(request: Request, key: uuid.UUID) -> HttpResponse:
    """A second person agrees to what a manager asked."""
    student = gate.get_student(request, Permission.ERASE_RECORD, key)
    row = planned_for(student)
    if row and not may_agree(request, student, row):
        raise PermissionDenied
    if row:
        agree(row, by=request.user, at=timezone.now())
    return redirect("erasure", key=key)


@require_POST
def erasure_call_off(request: Request, key: uuid.UUID) -> HttpResponseRedirect:
    """Call a planned erasure off; each side may, until it is carried out."""
    student = gate.get_student(request, Permission.ERASE_RECORD, key)
    if row := planned_for(student):
        call_off(row, by=request.user, at=timezone.now())
        messages.success(request, "The erasure is called off. Nothing is erased.")
    return redirect("erasure", key=key)


@require_POST
def erasure_carry_out(request: Request, key: uuid.UUID) -> HttpResponse:
    """Erase a student now: by a manager, once the time to call it off is over."""
    student = gate.get_student(request, Permission.MANAGE_ACADEMY, key)
    row, now = planned_for(student), timezone.now()
    if row is None or not row.is_due(request.academy.today(now)):
        return render_erasure(request, student, NOT_YET)
    request.juniors_read.clear()  # the row that says so would be about nobody
    erase_student(student, now)
    overwrite_deleted()
    messages.success(request, "Everything about this student is erased.")
    return redirect("long_gone")


def may_agree(request: Request, student: Student, row: ErasureRequest) -> bool:
    """Whether this person is a second one for an erasure that waits for one."""
    on = request.academy.today(timezone.now())
    return row.waits_for_second and request.user in second_people(student, row.asked_by, request.academy, on)


def render_erasure(request: Request, student: Student, problem: str = "") -> HttpResponse:
    """The page, with status 422 where something was not as it has to be."""
    row, on = planned_for(student), request.academy.today(timezone.now())
    context: dict[str, Any] = {
        "student": student,
        "row": row,
        "problem": problem,
        "days": GRACE.days,
        "is_due": row is not None and row.is_due(on),
        "may_agree": row is not None and may_agree(request, student, row),
        "is_junior": student.is_junior(on, request.academy.adult_at),
        "called_off": student.erasure_requests.exclude(called_off_at=None).select_related("called_off_by").first(),
    }
    return render(request, "rights/erasure/erasure.html", context, status=422 if problem else 200)
