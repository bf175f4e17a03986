"""Somebody walks in, what is asked once, and the times in which nobody expects a student."""

import uuid
from contextlib import suppress

from django.contrib import messages
from django.db import IntegrityError
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Act
from coachbook.accounts.models import Pause
from coachbook.forms import render_form
from coachbook.http import Request
from coachbook.loop.intake.forms import IntakeForm, PauseForm, WalkInForm, end_pause

FORM = ["GET", "POST"]


@require_GET
def walk_in_new(request: Request) -> HttpResponseRedirect:
    """A fresh address for somebody who walked in: reload, back and a double tap then all meet the same row."""
    gate.enter(request, Act.ADD)
    return redirect("walk_in", key=uuid.uuid4())


@require_http_methods(FORM)
def walk_in(request: Request, key: uuid.UUID) -> HttpResponse:
    """Write somebody down in ten seconds, and go on to their lesson."""
    student = gate.new_student(request, Act.TEACH, key)
    if student.pk:  # sent twice, or opened again: it is written down
        return redirect("lesson_new" if request.method == "POST" else "student", key=key)
    if not request.user.is_coach:  # a manager says who will coach them
        return redirect("student_details", key=key)
    today = request.academy.today(timezone.now())
    form = WalkInForm(request.POST or None, instance=student, seen=gate.students(request), today=today)
    if form.is_valid():
        with suppress(IntegrityError):  # the same page was posted twice at once: the other one wrote it down
            form.written_for(request.user.coach)
        messages.success(request, "Written down.")
        return redirect("lesson_new", key=key)
    return render_form(request, "loop/intake/walk_in.html", form)


@require_http_methods(FORM)
def intake(request: Request, key: uuid.UUID) -> HttpResponse:
    """What is asked once: grips, putter, practice, limits."""
    student = gate.student(request, Act.ARRANGE, key)
    form = IntakeForm(request.POST or None, instance=student)
    if form.is_valid():
        form.save()
        messages.success(request, "Saved.")
        return redirect("student", key=key)
    return render_form(request, "loop/intake/intake.html", form, {"student": student})


@require_http_methods(FORM)
def pauses(request: Request, key: uuid.UUID) -> HttpResponse:
    """The times in which a student pauses, and another one."""
    student = gate.student(request, Act.ARRANGE, key)
    today = request.academy.today(timezone.now())
    form = PauseForm(request.POST or None, student=student, today=today)
    if form.is_valid() and form.paused():
        messages.success(request, "Saved.")
        return redirect("pauses", key=key)
    context = {"student": student, "pauses": student.pauses.all(), "today": today}
    return render_form(request, "loop/intake/pauses.html", form, context)


@require_POST
def pause_end(request: Request, key: uuid.UUID, pause_key: uuid.UUID) -> HttpResponseRedirect:
    """Let a pause end today, or take one back that has not begun."""
    student = gate.student(request, Act.ARRANGE, key)
    pause = student.pauses.filter(key=pause_key).first()
    if pause is None and not Pause.history.filter(key=pause_key, student_id=student.pk).exists():
        raise Http404
    if pause and end_pause(pause=pause, on=request.academy.today(timezone.now())):
        messages.success(request, "The pause ends today." if pause.pk else "Taken back.")
    return redirect("pauses", key=key)
