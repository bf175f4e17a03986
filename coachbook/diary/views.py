"""An appointment as it is made, moved, kept or cancelled."""

import uuid
from collections.abc import Iterable
from contextlib import suppress
from datetime import datetime, timedelta
from typing import Any

from django.contrib import messages
from django.db import IntegrityError
from django.db.models import Q, QuerySet
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from coachbook import navigation
from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Coach, Student
from coachbook.diary.forms import AppointmentForm
from coachbook.diary.models import Appointment
from coachbook.diary.scheduling import create_appointments, move_appointment, set_status
from coachbook.forms import render_form
from coachbook.http import Request, parse_key

AFTERWARDS = frozenset({Appointment.Status.KEPT, Appointment.Status.MISSED})  # can be said only once it has begun


@require_GET
def appointment_new(request: Request, key: uuid.UUID) -> HttpResponseRedirect:
    """Redirect to a new address for an appointment; `from` names the lesson after which it is planned."""
    gate.get_student(request, Permission.SCHEDULE, key)
    address = reverse("appointment", args=[key, uuid.uuid4()])
    lesson = parse_key(request.GET.get("from", ""))
    return redirect(f"{address}?from={lesson}" if lesson else address)


@require_http_methods(["GET", "POST"])
def appointment(request: Request, key: uuid.UUID, appointment_key: uuid.UUID) -> HttpResponse:
    """Create the appointment at this address, or move the one that is there."""
    student = gate.get_student(request, Permission.SCHEDULE, key)
    stored = gate.own_or_new(student.appointments.all(), appointment_key)
    form = appointment_form(request, student, stored)
    if "show" in request.POST:
        return render_days(request, student, form)
    if form.is_valid():
        now = timezone.now()
        if stored:
            move_appointment(appointment=stored, plan=form.plan, by=request.user, at=now, stay=form.stay)
        else:
            with suppress(IntegrityError):  # the same page was posted twice at once: the other post created it
                create_appointments(key=appointment_key, plan=form.plan, by=request.user, at=now)
        messages.success(request, planned_message(form))
        return redirect(navigation.address("student", key))
    context = {"student": student, "appointment": stored, "series": series_of(student, stored)}
    return render_form(request, "diary/appointment.html", form, context)


def render_days(request: Request, student: Student, form: AppointmentForm) -> HttpResponse:
    """What was typed with all days of the series, of which nothing is saved; a script asks for the days alone."""
    form.full_clean()
    if request.htmx:
        return render(request, "diary/parts/days.html", {"form": form})
    return render_form(request, "diary/appointment.html", form, {"student": student})


def planned_message(form: AppointmentForm) -> str:
    """The message after an appointment or a series was saved."""
    if form.series_words:
        return f"Planned {form.series_words}."
    return f"Planned for {date_format(timezone.localtime(form.moments[0]), 'l j F, H:i')}."


def series_of(student: Student, stored: Appointment | None) -> Iterable[Appointment]:
    """The appointments of a student in the series of this one."""
    if not stored or not stored.series_id:
        return []
    return student.appointments.filter(series=stored.series_id).order_by("starts_at")


@require_POST
def appointment_decide(request: Request, key: uuid.UUID, appointment_key: uuid.UUID) -> HttpResponse:
    """Set the status: kept, missed, cancelled (with all later appointments of its series), or planned again."""
    student = gate.get_student(request, Permission.SCHEDULE, key)
    row = get_object_or_404(student.appointments, key=appointment_key)
    status, later, now = request.POST.get("status", ""), "later" in request.POST, timezone.now()
    if problem := status_problem(row, status, now):
        messages.error(request, problem)
    else:
        count = set_status(appointment=row, status=status, by=request.user, at=now, later=later)
        messages.success(request, status_message(Appointment.Status(status), count))
    back = f"?day={timezone.localdate(row.starts_at)}" + (f"&coach={row.coach.user.key}" * request.user.is_manager)
    return redirect(navigation.address("day") + back)


def status_problem(row: Appointment, status: str, at: datetime) -> str:
    """Why an appointment cannot get this status now, or an empty text."""
    if status not in Appointment.Status.values:
        return "Choose what happened: kept, did not come or cancelled."
    if status in AFTERWARDS and not row.has_begun(at):
        begins = date_format(timezone.localtime(row.starts_at), "l j F \\a\\t H:i")
        return f"This appointment begins on {begins}. Say then whether it was kept, or cancel it now."
    return ""


def status_message(status: Appointment.Status, count: int) -> str:
    """The message after a status was set."""
    return f"Saved: {status.label.lower()}{f', {count} appointments' if count > 1 else ''}."


def appointment_form(request: Request, student: Student, stored: Appointment | None) -> AppointmentForm:
    """The form, filled with what is stored, or with the same time a week after the lesson it follows."""
    return AppointmentForm(
        request.POST if request.method == "POST" else None,
        student=student,
        academy=request.academy,
        at=timezone.now(),
        coaches=coaches_of(request, stored),
        students=gate.get_students(request, Permission.SCHEDULE),
        stored=stored,
        initial=initial_values(request, student, stored),
    )


def coaches_of(request: Request, stored: Appointment | None) -> QuerySet[Coach]:
    """The coaches to choose from: oneself, for a manager everybody; a stored appointment can keep its coach."""
    allowed = Q(user__is_active=True) if request.user.is_manager else Q(user=request.user)
    return Coach.objects.named().filter(allowed | Q(pk=stored.coach_id) if stored else allowed)


def initial_values(request: Request, student: Student, stored: Appointment | None) -> dict[str, Any]:
    """The initial values of the form."""
    if stored:
        at = timezone.localtime(stored.starts_at)
        others = stored.students.exclude(pk=student.pk)
        return {
            "coach": stored.coach,
            "minutes": stored.minutes,
            "place": stored.place,
            "others": others,
        } | date_and_time(at)
    lesson_key = parse_key(request.GET.get("from", ""))
    lesson = student.lessons.filter(key=lesson_key).select_related("session").first() if lesson_key else None
    coach = lesson.session.coach_id if lesson else getattr(getattr(request.user, "coach", None), "pk", None)
    initial: dict[str, Any] = {"coach": coach, "repeat": "once"}
    if lesson:
        at = timezone.localtime(lesson.session.starts_at) + timedelta(days=7)
        initial |= {"place": lesson.session.place} | date_and_time(at.replace(minute=at.minute // 5 * 5, second=0))
    return initial


def date_and_time(at: Any) -> dict[str, Any]:
    """A moment as the form's two fields."""
    return {"day": at.date(), "time": at.time()}
