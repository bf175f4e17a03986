"""The page on which a student or guardian reports that the student cannot come, and withdraws it."""

import uuid
from datetime import date
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Student
from coachbook.diary.absences.forms import AbsenceForm, days_in_words
from coachbook.diary.absences.reporting import report_absence, withdraw_absence
from coachbook.forms import render_form
from coachbook.http import Request


@require_GET
def absences(request: Request, key: uuid.UUID) -> HttpResponse:
    """What is reported from today on, and a form for more; `day` in the address is that of a lesson."""
    student = gate.get_student(request, Permission.REPORT_ABSENCE, key)
    return render_absences(request, student, AbsenceForm(student=student, today=today_of(request), day=asked(request)))


@require_POST
def absence_report(request: Request, key: uuid.UUID, absence_key: uuid.UUID) -> HttpResponse:
    """Report days once: their key is in the address, so that a double tap reports nothing twice."""
    student = gate.get_student(request, Permission.REPORT_ABSENCE, key)
    stored = gate.own_or_new(student.absences.all(), absence_key)
    form = AbsenceForm(request.POST, student=student, today=today_of(request))
    if stored is None:
        if not form.is_valid():
            return render_absences(request, student, form)
        stored = report_absence(
            key=absence_key, student=student, by=request.user, at=timezone.now(), **form.cleaned_data
        )
        if stored.student_id != student.pk:
            raise Http404
    messages.success(request, f"Thank you. {days_in_words(stored)}: the coach sees it on the day’s page.")
    return redirect("absences", key=key)


@require_POST
def absence_withdraw(request: Request, key: uuid.UUID, absence_key: uuid.UUID) -> HttpResponse:
    """Withdraw a report: the student comes after all."""
    student = gate.get_student(request, Permission.REPORT_ABSENCE, key)
    row = get_object_or_404(student.absences, key=absence_key)
    withdraw_absence(row, request.user, timezone.now())
    messages.success(request, f"Withdrawn: {days_in_words(row)}. Lessons on these days are as planned.")
    return redirect("absences", key=key)


def today_of(request: Request) -> date:
    """Today at the academy."""
    return request.academy.today(timezone.now())


def asked(request: Request) -> date | None:
    """The day in the address, if it is one."""
    try:
        return date.fromisoformat(request.GET.get("day", ""))
    except ValueError:
        return None


def render_absences(request: Request, student: Student, form: AbsenceForm) -> HttpResponse:
    """The page; each one gets a new address to report to."""
    coming = student.absences.standing().filter(last_day__gte=form.today)
    context: dict[str, Any] = {
        "student": student,
        "absences": coming.select_related("reported_by"),
        "new_key": uuid.uuid4(),
    }
    return render_form(request, "diary/absences/absences.html", form, context)
