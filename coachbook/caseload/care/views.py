"""Who teaches whom: a student's second coaches, and a caseload handed over."""

import uuid
from datetime import date
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect
from django.utils.formats import date_format
from django.views.decorators.http import require_http_methods, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Act
from coachbook.accounts.models import Care, Coach, Student
from coachbook.caseload.care import second_coach as lend
from coachbook.caseload.care.forms import CareForm, HandOverForm
from coachbook.caseload.views import today
from coachbook.forms import render_form
from coachbook.http import Request


@require_http_methods(["GET", "POST"])
def care(request: Request, key: uuid.UUID) -> HttpResponse:
    """Who teaches a student now, later and earlier, and a second coach for them."""
    student = gate.student(request, Act.LEND, key)
    on = today(request)
    form = CareForm(request.POST if request.method == "POST" else None, student=student, today=on)
    if form.is_valid():
        given = lend.lend_student(student=student, by=request.user, **form.care)
        messages.success(request, lent_words(given, on))
        return redirect("care", key=key)
    waits = lend.waiting(Student.objects.filter(pk=student.pk), request.academy, on).exists()
    context = {"student": student, "teachers": lend.teachers(student, on), "waits": waits, "on": on}
    return render_form(request, "caseload/care/care.html", form, {**context, "second": lend.SECOND})


@require_POST
def care_end(request: Request, key: uuid.UUID, number: int) -> HttpResponseRedirect:
    """End a second coach's care before its last day; to end it twice is to end it once."""
    student = gate.student(request, Act.LEND, key)
    on = today(request)
    care = student.cares.filter(pk=number, role__in=lend.SECOND).select_related("coach__user").first()
    if care is None and not Care.history.filter(id=number, student=student, role__in=lend.SECOND).exists():
        raise Http404
    if care and (care.until is None or care.until >= on):
        lend.end_care(care=care, on=on, by=request.user)
        messages.success(request, f"{care.coach} is no longer {care.role} coach of {student}.")
    return redirect("care", key=key)


@require_http_methods(["GET", "POST"])
def hand_over(request: Request, coach: uuid.UUID) -> HttpResponse:
    """Give all students of a coach to another one, for good or for some days."""
    gate.enter(request, Act.RUN)
    teacher = get_object_or_404(Coach.objects.select_related("user"), user__key=coach)
    on = today(request)
    form = HandOverForm(request.POST if request.method == "POST" else None, coach=teacher, today=on)
    if form.is_valid():
        number = lend.hand_over(coach=teacher, by=request.user, **form.hand_over)
        messages.success(request, handed_words(teacher, number, form.hand_over, on))
        return redirect("coach_caseload", teacher.user.key)
    students = Student.objects.filter(cares__in=lend.handed_over(teacher, on)).distinct()
    waits = lend.waiting(students, request.academy, on)
    context = {"coach": teacher, "number": students.count(), "waits": waits}
    return render_form(request, "caseload/care/hand_over.html", form, context)


def lent_words(care: Care, on: date) -> str:
    """What a second coach comes to."""
    return f"{care.coach} is {care.role} coach {days_words(care.since, care.until, on)}."


def handed_words(coach: Coach, number: int, decided: dict[str, Any], on: date) -> str:
    """What a hand-over comes to."""
    whom = f"{number} student{'' if number == 1 else 's'} of {coach} {'is' if number == 1 else 'are'}"
    manner = " as a stand-in" if decided["until"] else ""
    return f"{whom} with {decided['to']}{manner} {days_words(decided['since'], decided['until'], on)}."


def days_words(since: date, until: date | None, on: date) -> str:
    """From a day on, or until another."""
    day = "today" if since == on else date_format(since, "j F Y")
    return f"from {day} until {date_format(until, 'j F Y')}" if until else f"from {day} on"
