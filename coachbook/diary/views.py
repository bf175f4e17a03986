"""An appointment as it is made, moved, kept or cancelled."""

import uuid
from contextlib import suppress
from datetime import timedelta
from typing import Any

from django.contrib import messages
from django.db import IntegrityError
from django.db.models import Q, QuerySet
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Coach, Student
from coachbook.diary.forms import AppointmentForm
from coachbook.diary.models import Appointment
from coachbook.diary.scheduling import decide, make, move
from coachbook.forms import render_form
from coachbook.http import Request, as_key


@require_GET
def appointment_new(request: Request, key: uuid.UUID) -> HttpResponseRedirect:
    """A fresh address for an appointment; `from` names the lesson at whose end it is made."""
    gate.get_student(request, Permission.SCHEDULE, key)
    address = reverse("appointment", args=[key, uuid.uuid4()])
    lesson = as_key(request.GET.get("from", ""))
    return redirect(f"{address}?from={lesson}" if lesson else address)


@require_http_methods(["GET", "POST"])
def appointment(request: Request, key: uuid.UUID, appointment_key: uuid.UUID) -> HttpResponse:
    """Make the appointment at this address, or move the one that is there."""
    student = gate.get_student(request, Permission.SCHEDULE, key)
    stored = found(student, appointment_key)
    form = form_for(request, student, stored)
    if form.is_valid():
        now = timezone.now()
        if stored:
            move(appointment=stored, plan=form.plan, by=request.user, at=now, stay=form.stay)
        else:
            with suppress(IntegrityError):  # the same page was posted twice at once: the other one planned it
                make(key=appointment_key, plan=form.plan, by=request.user, at=now)
        messages.success(request, f"Planned for {date_format(timezone.localtime(form.moments[0]), 'l j F, H:i')}.")
        return redirect("student", key=key)
    return render_form(request, "diary/appointment.html", form, {"student": student, "appointment": stored})


@require_POST
def appointment_decide(request: Request, key: uuid.UUID, appointment_key: uuid.UUID) -> HttpResponse:
    """Say what became of an appointment: kept, not come, cancelled (with all later ones of its series), or planned."""
    student = gate.get_student(request, Permission.SCHEDULE, key)
    row = get_object_or_404(Appointment, key=appointment_key, students=student)
    status, later = request.POST.get("status", ""), "later" in request.POST
    if status not in Appointment.Status.values:
        messages.error(request, "Choose what became of it.")
    else:
        count = decide(appointment=row, status=status, by=request.user, at=timezone.now(), later=later)
        messages.success(request, told(Appointment.Status(status), count))
    back = f"?day={timezone.localdate(row.starts_at)}" + (f"&coach={row.coach.user.key}" * request.user.is_manager)
    return redirect(reverse("day") + back)


def told(status: Appointment.Status, count: int) -> str:
    """What was written down."""
    return f"Written down: {status.label.lower()}{f', {count} appointments' if count > 1 else ''}."


def found(student: Student, appointment_key: uuid.UUID) -> Appointment | None:
    """The student's appointment at this address; 404 where it is another student's, none at a fresh one."""
    there = Appointment.objects.filter(key=appointment_key)
    return get_object_or_404(there, students=student) if there.exists() else None


def form_for(request: Request, student: Student, stored: Appointment | None) -> AppointmentForm:
    """The form, filled with what is stored, or with the same time a week after the lesson it is made from."""
    return AppointmentForm(
        request.POST if request.method == "POST" else None,
        student=student,
        academy=request.academy,
        at=timezone.now(),
        coaches=coaches_of(request, stored),
        students=gate.get_students(request, Permission.SCHEDULE),
        stored=stored,
        initial=initial_of(request, student, stored),
    )


def coaches_of(request: Request, stored: Appointment | None) -> QuerySet[Coach]:
    """With whom an appointment may be: a coach makes their own, a manager everybody's, and a stored one keeps its."""
    theirs = Q(user__is_active=True) if request.user.is_manager else Q(user=request.user)
    return Coach.objects.named().filter(theirs | Q(pk=stored.coach_id) if stored else theirs)


def initial_of(request: Request, student: Student, stored: Appointment | None) -> dict[str, Any]:
    """What the form begins with."""
    if stored:
        at = timezone.localtime(stored.starts_at)
        others = stored.students.exclude(pk=student.pk)
        return {"coach": stored.coach, "minutes": stored.minutes, "place": stored.place, "others": others} | when(at)
    asked = as_key(request.GET.get("from", ""))
    lesson = student.lessons.filter(key=asked).select_related("session").first() if asked else None
    coach = lesson.session.coach_id if lesson else getattr(getattr(request.user, "coach", None), "pk", None)
    begun: dict[str, Any] = {"coach": coach, "repeat": "once"}
    if lesson:
        at = timezone.localtime(lesson.session.starts_at) + timedelta(days=7)
        begun |= {"place": lesson.session.place} | when(at.replace(minute=at.minute // 5 * 5, second=0))
    return begun


def when(at: Any) -> dict[str, Any]:
    """A moment as the form shows it."""
    return {"day": at.date(), "time": at.time()}
