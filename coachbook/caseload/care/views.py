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
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Care, Coach, Student
from coachbook.caseload.care import second_coach
from coachbook.caseload.care.forms import CareForm, HandOverForm
from coachbook.caseload.views import today
from coachbook.forms import render_form
from coachbook.http import Request


@require_http_methods(["GET", "POST"])
def care(request: Request, key: uuid.UUID) -> HttpResponse:
    """Who teaches a student now, later and earlier, and a second coach for them."""
    student = gate.get_student(request, Permission.MANAGE_COACHES, key)
    on = today(request)
    form = CareForm(request.POST if request.method == "POST" else None, student=student, today=on)
    if form.is_valid():
        given = second_coach.add_second_coach(student=student, by=request.user, **form.care)
        messages.success(request, second_coach_words(given, on))
        return redirect("care", key=key)
    lacks_consent = second_coach.without_consent_to_share(
        Student.objects.filter(pk=student.pk), request.academy, on
    ).exists()
    context = {
        "student": student,
        "coaches_by_time": second_coach.coaches_by_time(student, on),
        "lacks_consent": lacks_consent,
        "on": on,
    }
    return render_form(request, "caseload/care/care.html", form, {**context, "second": second_coach.SECOND})


@require_POST
def care_end(request: Request, key: uuid.UUID, number: int) -> HttpResponseRedirect:
    """End a second coach's care before its last day; to end it twice is to end it once."""
    student = gate.get_student(request, Permission.MANAGE_COACHES, key)
    on = today(request)
    care = student.cares.filter(pk=number, role__in=second_coach.SECOND).select_related("coach__user").first()
    if care is None and not Care.history.filter(id=number, student=student, role__in=second_coach.SECOND).exists():
        raise Http404
    if care and (care.until is None or care.until >= on):
        second_coach.end_care(care=care, on=on, by=request.user)
        messages.success(request, f"{care.coach} is no longer {care.get_role_display()} coach of {student}.")
    return redirect("care", key=key)


@require_http_methods(["GET", "POST"])
def hand_over(request: Request, coach: uuid.UUID) -> HttpResponse:
    """Give all students of a coach to another one, for good or for some days."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    teacher = get_object_or_404(Coach.objects.select_related("user"), user__key=coach)
    on = today(request)
    form = HandOverForm(request.POST if request.method == "POST" else None, coach=teacher, today=on)
    if form.is_valid():
        number = second_coach.hand_over(coach=teacher, by=request.user, **form.hand_over)
        messages.success(request, hand_over_words(teacher, number, form.hand_over, on))
        return redirect("coach_caseload", teacher.user.key)
    students = Student.objects.filter(cares__in=second_coach.main_cares_between(teacher, on)).distinct()
    lacks_consent = second_coach.without_consent_to_share(students, request.academy, on)
    context = {"coach": teacher, "number": students.count(), "lacks_consent": lacks_consent}
    return render_form(request, "caseload/care/hand_over.html", form, context)


def second_coach_words(care: Care, on: date) -> str:
    """What a second coach comes to."""
    return f"{care.coach} is {care.get_role_display()} coach {days_words(care.since, care.until, on)}."


def hand_over_words(coach: Coach, number: int, plan: dict[str, Any], on: date) -> str:
    """What a hand-over comes to."""
    whom = f"{number} student{'' if number == 1 else 's'} of {coach} {'is' if number == 1 else 'are'}"
    manner = " as covering coach" if plan["until"] else ""
    return f"{whom} with {plan['to']}{manner} {days_words(plan['since'], plan['until'], on)}."


def days_words(since: date, until: date | None, on: date) -> str:
    """From a day on, or until another."""
    day = "today" if since == on else date_format(since, "j F Y")
    return f"from {day} until {date_format(until, 'j F Y')}" if until else f"from {day} on"
