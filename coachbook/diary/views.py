"""A coach's days, and an appointment as it is made, moved, kept or cancelled."""

import uuid
from collections.abc import Iterable
from contextlib import suppress
from datetime import date, timedelta
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

from coachbook.accounts import gate
from coachbook.accounts.gate import Act
from coachbook.accounts.models import Coach, Student
from coachbook.diary.forms import AppointmentForm
from coachbook.diary.models import Appointment
from coachbook.diary.scheduling import day_bounds, decide, make, move
from coachbook.forms import render_form
from coachbook.http import Request, as_key
from lessons.models import Lesson


@require_GET
def day(request: Request) -> HttpResponse:
    """A coach's day: who comes when, what became of it, and what lies unfinished."""
    gate.enter(request, Act.PLAN)
    coach, on = whose(request), day_asked(request)
    context = page_of(request, coach, on, 1) | {"before": on - timedelta(days=1), "after": on + timedelta(days=1)}
    return render(request, "diary/day.html", context)


@require_GET
def week(request: Request) -> HttpResponse:
    """Seven days from a Monday on."""
    gate.enter(request, Act.PLAN)
    asked = day_asked(request)
    coach, on = whose(request), asked - timedelta(days=asked.weekday())
    context = page_of(request, coach, on, 7) | {"before": on - timedelta(days=7), "after": on + timedelta(days=7)}
    return render(request, "diary/week.html", context)


@require_GET
def appointment_new(request: Request, key: uuid.UUID) -> HttpResponseRedirect:
    """A fresh address for an appointment; `from` names the lesson at whose end it is made."""
    gate.student(request, Act.BOOK, key)
    address = reverse("appointment", args=[key, uuid.uuid4()])
    lesson = as_key(request.GET.get("from", ""))
    return redirect(f"{address}?from={lesson}" if lesson else address)


@require_http_methods(["GET", "POST"])
def appointment(request: Request, key: uuid.UUID, appointment_key: uuid.UUID) -> HttpResponse:
    """Make the appointment at this address, or move the one that is there."""
    student = gate.student(request, Act.BOOK, key)
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
    student = gate.student(request, Act.BOOK, key)
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
        students=gate.students(request, Act.BOOK),
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


def whose(request: Request) -> Coach | None:
    """Whose days: a coach's own; a manager chooses, and begins with their own or the first."""
    if not request.user.is_manager:
        return request.user.coach
    coaches = Coach.objects.named().teaching()
    if key := as_key(request.GET.get("coach", "")):
        return get_object_or_404(coaches, user__key=key)
    return request.user.coach if request.user.is_coach else coaches.first()


def day_asked(request: Request) -> date:
    """The day in the address, or today."""
    today = request.academy.today(timezone.now())
    try:
        asked = date.fromisoformat(request.GET.get("day", ""))
    except ValueError:
        return today
    return asked if 2000 <= asked.year < 2100 else today


def page_of(request: Request, coach: Coach | None, first: date, days: int) -> dict[str, Any]:
    """The appointments of some days, day by day, and what lies unfinished."""
    begins, before = day_bounds(request.academy, first, days)
    rows = list(Appointment.objects.filter(coach=coach).between(begins, before))
    students = gate.students(request, Act.BOOK)
    mine = set(students.values_list("pk", flat=True))
    drafts = Lesson.objects.filter(session__coach=coach, status=Lesson.Status.DRAFT, student__in=students)
    return {
        "coach": coach,
        "on": first,
        "today": request.academy.today(timezone.now()),
        "days": [(on, on_day(rows, on, mine)) for on in (first + timedelta(days=n) for n in range(days))],
        "mine": mine,
        "drafts": drafts.latest_first().select_related("student"),
        "coaches": Coach.objects.named().teaching() if request.user.is_manager else [],
    }


def on_day(rows: Iterable[Appointment], on: date, mine: set[int]) -> list[tuple[Appointment, Student | None]]:
    """The appointments of one day in the academy's zone, each with the student under whom it can be changed."""
    of_day = [row for row in rows if timezone.localdate(row.starts_at) == on]
    return [(row, next((s for s in row.students.all() if s.pk in mine), None)) for row in of_day]
