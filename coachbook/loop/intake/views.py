"""The pages for a walk-in, for the questions asked once, and for pauses."""

import uuid
from contextlib import suppress

from django.contrib import messages
from django.db import IntegrityError
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Pause
from coachbook.diary.following.acts import effect_of_pause
from coachbook.diary.following.forms import FollowForm, render_act
from coachbook.diary.following.touched import touched_by
from coachbook.forms import render_form
from coachbook.http import Request
from coachbook.loop.intake.forms import IntakeForm, PauseForm, WalkInForm
from coachbook.loop.intake.pausing import end_with_appointments, save_pause
from coachbook.outbox.once import conflict_status, once

FORM = ["GET", "POST"]


@require_GET
def walk_in_new(request: Request) -> HttpResponseRedirect:
    """Redirect to a fresh address, so that reload, back and a double tap all reach the same walk-in."""
    gate.require(request, Permission.ADD_STUDENT)
    return redirect("walk_in", key=uuid.uuid4())


@once
@require_http_methods(FORM)
def walk_in(request: Request, key: uuid.UUID) -> HttpResponse:
    """Add a walk-in, and go on to their lesson."""
    student = gate.get_or_new_student(request, Permission.LOG_LESSONS, key)
    if student.pk and request.method == "GET":  # opened again: it is saved
        return redirect("student", key=key)
    if not (student.pk or request.user.is_coach):  # a manager has to choose a coach
        return redirect("student_details", key=key)
    today = request.academy.today(timezone.now())
    form = WalkInForm(request.POST or None, instance=student, visible=gate.get_students(request), today=today)
    if student.pk:
        return answer_saved(request, form)
    if form.is_valid():
        with suppress(IntegrityError):  # the same page was posted twice at once: the other one saved it
            form.save_for(request.user.coach)
        messages.success(request, "Saved.")
        return redirect("lesson_new", key=key)
    return render_form(request, "loop/intake/walk_in.html", form)


def answer_saved(request: Request, form: WalkInForm) -> HttpResponse:
    """A walk-in that was posted twice is saved; one that was typed anew since is shown beside what is saved."""
    key = form.instance.key
    if not form.differs:
        return redirect("lesson_new", key=key)
    saved = f"{form.saved.name}, {form.saved.age_group}, plays from the {form.saved.putting_side}"
    form.add_error("name", f"Saved already as {saved}. Change that in the details of the student.")
    context = {"form": form, "saved": key}
    return render(request, "loop/intake/walk_in.html", context, status=conflict_status(request))


@require_http_methods(FORM)
def intake(request: Request, key: uuid.UUID) -> HttpResponse:
    """The questions asked once: goal, event, grips, putter, practice, limits."""
    student = gate.get_student(request, Permission.EDIT_STUDENT, key)
    form = IntakeForm(request.POST or None, instance=student, today=request.academy.today(timezone.now()))
    if form.is_valid():
        form.save()
        messages.success(request, "Saved.")
        return redirect("student", key=key)
    return render_form(request, "loop/intake/intake.html", form, {"student": student})


@require_http_methods(FORM)
def pauses(request: Request, key: uuid.UUID) -> HttpResponse:
    """A student's pauses, with the form to add one."""
    student = gate.get_student(request, Permission.EDIT_STUDENT, key)
    today = request.academy.today(timezone.now())
    form, follow, now = PauseForm(request.POST or None, student=student, today=today), None, timezone.now()
    if form.is_valid():
        effect = effect_of_pause(student, request.academy, now, form.cleaned_data["since"], form.cleaned_data["until"])
        follow = FollowForm(request.POST, touched_by(effect, now))
        if follow.is_valid() and save_pause(form, follow, request.user, now):
            messages.success(request, "Saved.")
            return redirect("pauses", key=key)
    context = {"student": student, "pauses": student.pauses.all(), "today": today}
    return render_act(request, "loop/intake/pauses.html", form, follow, context)


@require_POST
def pause_end(request: Request, key: uuid.UUID, pause_key: uuid.UUID) -> HttpResponseRedirect:
    """End a pause today, or delete one that has not begun."""
    student = gate.get_student(request, Permission.EDIT_STUDENT, key)
    pause = student.pauses.filter(key=pause_key).first()
    if pause is None and not Pause.history.filter(key=pause_key, student_id=student.pk).exists():
        raise Http404
    if pause:
        ended, back = end_with_appointments(pause, request.academy, request.user, timezone.now())
        if ended:
            words = "The pause ends today." if pause.pk else "The pause is deleted."
            messages.success(request, f"{words} {back.words}".strip())
    return redirect("pauses", key=key)
