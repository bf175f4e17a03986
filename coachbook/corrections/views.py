"""Corrections: each is shown before it is made, and undone with one button."""

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
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Student
from coachbook.corrections.changes import changes_of
from coachbook.corrections.forms import MergeForm, MoveForm
from coachbook.corrections.merge import merge_students, rows_to_move
from coachbook.corrections.models import Correction
from coachbook.corrections.move import move_back, move_lesson
from coachbook.corrections.reopen import reopen_focus
from coachbook.corrections.undo import undo_correction
from coachbook.corrections.words import WordChange, find_change, restore_words
from coachbook.forms import render_form
from coachbook.http import Request
from lessons.models import Lesson

FORM = ["GET", "POST"]
CORRECTIONS_SHOWN, CHANGES_SHOWN = 100, 50


@require_http_methods(FORM)
def lesson_move(request: Request, key: uuid.UUID, lesson_key: uuid.UUID) -> HttpResponse:
    """Move a lesson that was logged for the wrong student."""
    student = gate.get_student(request, Permission.CORRECT, key)
    lesson = student.lessons.select_related("session", "student").filter(key=lesson_key).first()
    if lesson is None:
        return redirect_to_moved(request, student, lesson_key)
    data = request.POST if request.method == "POST" else None
    form = MoveForm(data, lesson=lesson, students=gate.get_students(request, Permission.CORRECT))
    if form.is_valid():
        about: dict[str, Any] = {"by": request.user, "at": timezone.now(), "academy": request.academy}
        try:
            correction = move_lesson(lesson=lesson, **form.decisions, **about)
        except ValidationError as refusal:
            form.add_error(None, refusal)
        else:
            messages.success(request, f"Moved. This is now a lesson of {correction.student}.")
            return redirect("lesson", key=correction.student.key, lesson_key=lesson_key)
    context = {"student": student, "lesson": lesson, "has_sheet": lesson.sheets.valid().exists()}
    return render_form(request, "corrections/lesson_move.html", form, context)


def redirect_to_moved(request: Request, student: Student, lesson_key: uuid.UUID) -> HttpResponseRedirect:
    """Redirect to a lesson that has just been moved, where the form was posted twice."""
    lesson = Lesson.objects.filter(key=lesson_key, student__in=gate.get_students(request, Permission.CORRECT)).first()
    moves = Correction.objects.filter(kind=Correction.Kind.MOVED, lesson=lesson, other_student=student)
    if lesson is None or not moves.exists():
        raise Http404
    return redirect("lesson", key=lesson.student.key, lesson_key=lesson_key)


@require_http_methods(FORM)
def student_merge(request: Request, key: uuid.UUID) -> HttpResponse:
    """Merge a duplicate into another student."""
    student = gate.get_student(request, Permission.EDIT_STUDENT, key)
    data = request.POST if request.method == "POST" else None
    form = MergeForm(data, duplicate=student, students=gate.get_students(request, Permission.EDIT_STUDENT))
    if form.is_valid():
        now = timezone.now()
        about: dict[str, Any] = {"by": request.user, "at": now, "on": request.academy.today(now)}
        try:
            correction = merge_students(duplicate=student, **form.cleaned_data, **about)
        except ValidationError as refusal:
            form.add_error(None, refusal)
        else:
            messages.success(request, f"Merged. Everything is recorded for {correction.student} now.")
            return redirect("student", key=correction.student.key)
    context = {"student": student, "rows_to_move": rows_to_move(student)}
    return render_form(request, "corrections/merge.html", form, context)


@require_POST
def focus_reopen(request: Request, key: uuid.UUID, focus_key: uuid.UUID) -> HttpResponse:
    """Open a focus again that was closed by mistake; one that is open stays open."""
    student = gate.get_student(request, Permission.LOG_LESSONS, key)
    focus = get_object_or_404(student.focuses.select_related("student", "closed_in"), key=focus_key)
    if focus.closed_in is None:
        return redirect("student", key=key)
    try:
        reopen_focus(focus=focus, by=request.user, at=timezone.now())
    except ValidationError as refusal:
        context = {"student": student, "focus": focus, "problem": refusal.messages[0]}
        return render(request, "corrections/not_reopened.html", context, status=422)
    messages.success(request, "The focus is open again.")
    return redirect("student", key=key)


@require_GET
def changes(request: Request, key: uuid.UUID) -> HttpResponse:
    """Who changed what about a student, and when; corrections can be undone here."""
    student = gate.get_student(request, Permission.READ_NOTES, key)
    pages = Paginator(changes_of(student, timezone.now(), request.user), CHANGES_SHOWN)
    page = pages.get_page(request.GET.get("page"))
    return render(request, "corrections/changes.html", {"student": student, "page": page})


@require_GET
def earlier_words(request: Request, key: uuid.UUID, kind: str, number: int) -> HttpResponse:
    """What the words of a change said before it and after it, with a button to restore them."""
    student = gate.get_student(request, Permission.READ_NOTES, key)
    return render_words(request, student, get_change_or_404(request, student, kind, number))


@require_POST
def words_restore(request: Request, key: uuid.UUID, kind: str, number: int) -> HttpResponse:
    """Store again what one field said before a change."""
    student = gate.get_student(request, Permission.CORRECT, key)
    change = get_change_or_404(request, student, kind, number)
    field = request.POST.get("field", "")
    if field not in {words.field for words in change.fields}:
        return render_words(request, student, change, "Choose what to restore.")
    try:
        restore_words(change=change, field=field, base=request.POST.get("base", ""), by=request.user)
    except ValidationError as refusal:
        return render_words(request, student, change, refusal.messages[0])
    messages.success(request, "Restored. A sheet that was taken home stays as it is.")
    return redirect("changes", key=key)


def get_change_or_404(request: Request, student: Student, kind: str, number: int) -> WordChange:
    """The change with this number, or 404 where there is none that this person may read."""
    if change := find_change(student, kind, number, request.user):
        return change
    raise Http404


def render_words(request: Request, student: Student, change: WordChange, problem: str = "") -> HttpResponse:
    """The page of overwritten words; 422 where they could not be restored."""
    context = {"student": student, "change": change, "problem": problem}
    return render(request, "corrections/words.html", context, status=422 if problem else 200)


@require_POST
def correction_undo(request: Request, key: uuid.UUID, correction_key: uuid.UUID) -> HttpResponse:
    """Undo a correction, as a whole."""
    student = gate.get_student(request, Permission.CORRECT, key)
    about = Correction.objects.about(student).select_related("student", "other_student", "lesson__session")
    correction = get_object_or_404(about, key=correction_key)
    try:
        if not may_undo(request, correction):
            raise ValidationError("This also concerns a student of another coach. Ask a manager to undo it.")
        undo_by_kind(request, correction)
    except ValidationError as refusal:
        context = {"student": student, "correction": correction, "problem": refusal.messages[0]}
        return render(request, "corrections/not_undone.html", context, status=422)
    messages.success(request, "Undone. Everything is as it was before.")
    return redirect("changes", key=key)


def undo_by_kind(request: Request, correction: Correction) -> None:
    """Undo a correction: a moved lesson also concerns later sheets."""
    about: dict[str, Any] = {"correction": correction, "by": request.user, "at": timezone.now()}
    if correction.kind == Correction.Kind.MOVED:
        move_back(**about, academy=request.academy)
    else:
        undo_correction(**about)


def may_undo(request: Request, correction: Correction) -> bool:
    """Whether the person may correct the record of every student whom it concerns."""
    concerned = {correction.student_id}
    if correction.kind == Correction.Kind.MOVED and correction.other_student_id:
        concerned.add(correction.other_student_id)
    return gate.get_students(request, Permission.CORRECT).filter(pk__in=concerned).count() == len(concerned)


@require_GET
def corrections(request: Request) -> HttpResponse:
    """The latest corrections: first those that no manager has seen yet."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    found = Correction.objects.latest_first()[:CORRECTIONS_SHOWN]
    now = timezone.now()
    rows = [(row, row.may_be_undone(now)) for row in sorted(found, key=lambda row: row.seen_at is not None)]
    return render(request, "corrections/corrections.html", {"rows": rows})


@require_POST
def correction_seen(request: Request, correction_key: uuid.UUID) -> HttpResponseRedirect:
    """Record that a manager has seen a correction; a second time changes nothing."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    correction = get_object_or_404(Correction, key=correction_key)
    if correction.seen_at is None:
        correction.seen_at = timezone.now()
        correction.save(update_fields=["seen_at"])
    return redirect("corrections")
