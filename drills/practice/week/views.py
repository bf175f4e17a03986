"""A student's week of practice, and the days that they pick for it."""

import uuid
from datetime import date

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Student
from coachbook.forms import render_form
from coachbook.http import Request
from drills.practice.week.forms import PracticeDaysForm
from drills.practice.week.gather import gather_week
from drills.practice.week.page import page_of


@require_GET
def practice_week(request: Request, key: uuid.UUID) -> HttpResponse:
    """The seven days, each with its drills, and the form for the days."""
    student = gate.get_student(request, Permission.READ_RECORD, key)
    return render_week(request, student)


@require_POST
def practice_days(request: Request, key: uuid.UUID) -> HttpResponse:
    """Pick the days and the minutes; the same again changes nothing."""
    student = gate.get_student(request, Permission.REPORT_PRACTICE, key)
    form = PracticeDaysForm(request.POST)
    if not form.is_valid():
        return render_week(request, student, form)
    form.save(student)
    messages.success(request, "Saved. The week is laid out over these days.")
    return HttpResponseRedirect(reverse("practice_week", args=[student.key]), status=303)


def render_week(request: Request, student: Student, form: PracticeDaysForm | None = None) -> HttpResponse:
    """The page; with an invalid form, status 422 and what was typed still there."""
    week = gather_week(student, today_of(request))
    context = {
        "student": student,
        "page": page_of(week),
        "may_pick": gate.is_allowed(student, Permission.REPORT_PRACTICE),
    }
    return render_form(request, "drills/practice/week/week.html", form or PracticeDaysForm.of(week), context)


def today_of(request: Request) -> date:
    """Today at the academy."""
    return request.academy.today(timezone.now())
