"""Putting mistakes right: each is one act, shown before it is done, and undone with one button."""

import uuid
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Act
from coachbook.accounts.models import Student
from coachbook.corrections.changes import changes_of
from coachbook.corrections.forms import MergeForm, MoveForm
from coachbook.corrections.merge import merge_students, moving
from coachbook.corrections.models import Amendment
from coachbook.corrections.move import move_back, move_lesson
from coachbook.corrections.record import undo
from coachbook.corrections.reopen import reopen_focus
from coachbook.forms import render_form
from coachbook.http import Request
from lessons.models import Lesson

FORM = ["GET", "POST"]
CORRECTIONS_SHOWN, CHANGES_SHOWN = 100, 50


@require_http_methods(FORM)
def lesson_move(request: Request, key: uuid.UUID, lesson_key: uuid.UUID) -> HttpResponse:
    """Move a lesson that was written under the wrong student."""
    student = gate.student(request, Act.BOOK, key)
    lesson = student.lessons.select_related("session", "student").filter(key=lesson_key).first()
    if lesson is None:
        return moved_already(request, student, lesson_key)
    typed = request.POST if request.method == "POST" else None
    form = MoveForm(typed, lesson=lesson, students=gate.students(request, Act.BOOK))
    if form.is_valid():
        about: dict[str, Any] = {"by": request.user, "at": timezone.now(), "academy": request.academy}
        try:
            amendment = move_lesson(lesson=lesson, **form.decided, **about)
        except ValidationError as refusal:
            form.add_error(None, refusal)
        else:
            messages.success(request, f"Moved. The lesson is under {amendment.student} now.")
            return redirect("lesson", key=amendment.student.key, lesson_key=lesson_key)
    context = {"student": student, "lesson": lesson, "has_sheet": lesson.sheets.standing().exists()}
    return render_form(request, "corrections/lesson_move.html", form, context)


def moved_already(request: Request, student: Student, lesson_key: uuid.UUID) -> HttpResponseRedirect:
    """The way to a lesson that has just been moved: the page was posted twice."""
    lesson = Lesson.objects.filter(key=lesson_key, student__in=gate.students(request, Act.BOOK)).first()
    moves = Amendment.objects.filter(kind=Amendment.Kind.MOVED, lesson=lesson, other_student=student)
    if lesson is None or not moves.exists():
        raise Http404
    return redirect("lesson", key=lesson.student.key, lesson_key=lesson_key)


@require_http_methods(FORM)
def student_merge(request: Request, key: uuid.UUID) -> HttpResponse:
    """Make two pages about one person one."""
    student = gate.student(request, Act.ARRANGE, key)
    typed = request.POST if request.method == "POST" else None
    form = MergeForm(typed, first=student, students=gate.students(request, Act.ARRANGE))
    if form.is_valid():
        now = timezone.now()
        about: dict[str, Any] = {"by": request.user, "at": now, "on": request.academy.today(now)}
        try:
            amendment = merge_students(first=student, **form.cleaned_data, **about)
        except ValidationError as refusal:
            form.add_error(None, refusal)
        else:
            messages.success(request, "Everything is on this page now.")
            return redirect("student", key=amendment.student.key)
    return render_form(request, "corrections/merge.html", form, {"student": student, "moving": moving(student)})


@require_POST
def focus_reopen(request: Request, key: uuid.UUID, focus_key: uuid.UUID) -> HttpResponse:
    """Open a focus again that was closed by mistake; one that is open stays open."""
    student = gate.student(request, Act.TEACH, key)
    focus = get_object_or_404(student.focuses.select_related("student", "closed_in"), key=focus_key)
    if focus.closed_in is None:
        return redirect("student", key=key)
    try:
        reopen_focus(focus=focus, by=request.user, at=timezone.now())
    except ValidationError as refusal:
        context = {"student": student, "focus": focus, "problem": refusal.messages[0]}
        return render(request, "corrections/not_opened.html", context, status=422)
    messages.success(request, "It is open again.")
    return redirect("student", key=key)


@require_GET
def changes(request: Request, key: uuid.UUID) -> HttpResponse:
    """Who changed what about a student, and when; what was put right can be undone here."""
    student = gate.student(request, Act.NOTES, key)
    pages = Paginator(changes_of(student, timezone.now()), CHANGES_SHOWN)
    page = pages.get_page(request.GET.get("page"))
    return render(request, "corrections/changes.html", {"student": student, "page": page})


@require_POST
def amendment_undo(request: Request, key: uuid.UUID, amendment_key: uuid.UUID) -> HttpResponse:
    """Undo what was put right, as a whole."""
    student = gate.student(request, Act.BOOK, key)
    about = Amendment.objects.about(student).select_related("student", "other_student", "lesson__session")
    amendment = get_object_or_404(about, key=amendment_key)
    try:
        if not may_undo(request, amendment):
            raise ValidationError("This is about a student of another coach, too. Ask a manager to undo it.")
        take_back(request, amendment)
    except ValidationError as refusal:
        context = {"student": student, "amendment": amendment, "problem": refusal.messages[0]}
        return render(request, "corrections/refused.html", context, status=422)
    messages.success(request, "Undone. Everything is as it was before.")
    return redirect("changes", key=key)


def take_back(request: Request, amendment: Amendment) -> None:
    """Undo an amendment in the way of its kind."""
    about: dict[str, Any] = {"amendment": amendment, "by": request.user, "at": timezone.now()}
    if amendment.kind == Amendment.Kind.MOVED:
        move_back(**about, academy=request.academy)
    else:
        undo(**about)


def may_undo(request: Request, amendment: Amendment) -> bool:
    """Whether the person may put right what was logged for everybody whom it concerns."""
    concerned = {amendment.student_id}
    if amendment.kind == Amendment.Kind.MOVED and amendment.other_student_id:
        concerned.add(amendment.other_student_id)
    return gate.students(request, Act.BOOK).filter(pk__in=concerned).count() == len(concerned)


@require_GET
def corrections(request: Request) -> HttpResponse:
    """What was put right of late: those that no manager has seen yet first."""
    gate.enter(request, Act.RUN)
    found = Amendment.objects.latest_first()[:CORRECTIONS_SHOWN]
    now = timezone.now()
    rows = [(row, row.may_be_undone(now)) for row in sorted(found, key=lambda row: row.seen_at is not None)]
    return render(request, "corrections/corrections.html", {"rows": rows})


@require_POST
def correction_seen(request: Request, amendment_key: uuid.UUID) -> HttpResponseRedirect:
    """A manager has seen it; to see it twice is to see it once."""
    gate.enter(request, Act.RUN)
    amendment = get_object_or_404(Amendment, key=amendment_key)
    if amendment.seen_at is None:
        amendment.seen_at = timezone.now()
        amendment.save(update_fields=["seen_at"])
    return redirect("corrections")
