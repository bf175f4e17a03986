"""Corrections: each is shown before it is made, and undone with one button."""

import uuid
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.db import transaction
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Student
from coachbook.corrections.approvals.asking import merge_request, undo_request
from coachbook.corrections.approvals.deciding import undo_by_kind
from coachbook.corrections.approvals.needs import merge_reasons, undo_needs_approval
from coachbook.corrections.approvals.views import ask_and_show
from coachbook.corrections.approvals.wording import describe
from coachbook.corrections.changes import changes_of
from coachbook.corrections.edits import edits_of, undo_edit
from coachbook.corrections.forms import MergeForm, MoveForm
from coachbook.corrections.merge import check_merge, merge_students, rows_to_move
from coachbook.corrections.merged_appointments import touched_by_merge
from coachbook.corrections.models import ApprovalRequest, Correction
from coachbook.corrections.move import move_lesson
from coachbook.corrections.reopen import reopen_focus
from coachbook.corrections.words import WordChange, find_change, restore_words
from coachbook.diary.following.forms import FollowForm, render_act
from coachbook.forms import render_form
from coachbook.http import Request
from lessons.models import Lesson
from lessons.stills.erasing import erase_stills

FORM = ["GET", "POST"]
ASK_A_MANAGER = (
    "This also concerns a student of another coach. Ask a manager to undo it.",
    "Who coaches a student is undone by managers alone. Ask one.",
)
CORRECTIONS_SHOWN, CHANGES_SHOWN = 100, 50
EDIT_UNDONE = "Undone. A sheet that was taken home stays as it is; finish the lesson again to replace it."


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
            with transaction.atomic():
                correction = move_lesson(lesson=lesson, **form.decisions, **about)
                erase_stills(lesson.stills.all() if form.erases_stills else [])
        except ValidationError as refusal:
            form.add_error(None, refusal)
        else:
            messages.success(request, f"Moved. This is now a lesson of {correction.student}.")
            return redirect("lesson", key=form.cleaned_data["to"].key, lesson_key=lesson_key)
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
    """Merge a duplicate into another student; where that changes who decides, ask a second person first."""
    student = gate.get_student(request, Permission.EDIT_STUDENT, key)
    data = request.POST if request.method == "POST" else None
    form = MergeForm(data, duplicate=student, students=gate.get_students(request, Permission.EDIT_STUDENT))
    now, follow = timezone.now(), None
    if form.is_valid():
        touched = touched_by_merge(student, form.cleaned_data["into"], request.academy, now)
        follow = FollowForm(request.POST, touched)
    if follow and follow.is_valid():
        about: dict[str, Any] = {"by": request.user, "at": now, "on": request.academy.today(now)}
        try:
            if merge_reasons(student, form.cleaned_data["into"], request.academy, about["on"]):
                check_merge(duplicate=student, **form.cleaned_data, **about)
                asked = merge_request(student, by=request.user, chosen=follow.chosen, **form.cleaned_data)
                return ask_first(request, student, asked)
            about["decisions"] = follow.decisions
            correction = merge_students(duplicate=student, **form.cleaned_data, **about)
        except ValidationError as refusal:
            form.add_error(None, refusal)
        else:
            messages.success(request, f"Merged. Everything is recorded for {correction.student} now.")
            return redirect("student", key=form.cleaned_data["into"].key)
    context = {"student": student, "rows_to_move": [] if follow else rows_to_move(student)}
    return render_act(request, "corrections/merge.html", form, follow, context)


def ask_first(request: Request, student: Student | None, approval: ApprovalRequest) -> HttpResponse:
    """The page that says what will be asked of whom; its button sends the same form again, to ask it."""
    if "ask" in request.POST:
        return ask_and_show(request, approval)
    today = request.academy.today(timezone.now())
    typed = [
        (name, value) for name, values in request.POST.lists() for value in values if name != "csrfmiddlewaretoken"
    ]
    wording = describe(approval, request.academy, today)
    context = {"student": student, "approval": approval, "wording": wording, "typed": typed}
    return render(request, "corrections/approvals/ask.html", context)


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
    """Undo a correction, as a whole; where that changes who decides, ask a second person first."""
    student = gate.get_student(request, Permission.CORRECT, key)
    about = Correction.objects.about(student).select_related("student", "other_student", "lesson__session")
    correction = get_object_or_404(about, key=correction_key)
    try:
        if not may_undo(request, correction):
            raise ValidationError(ASK_A_MANAGER[correction.kind == Correction.Kind.CARE])
        if asked := undo_or_ask(request, correction, student):
            return asked
    except ValidationError as refusal:
        return render_not_undone(request, correction, refusal, student)
    messages.success(request, "Undone. Everything is as it was before.")
    return redirect("changes", key=key)


@require_POST
def access_undo(request: Request, correction_key: uuid.UUID) -> HttpResponse:
    """Undo a new way into the account of somebody who is not taught."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    of_a_person = Correction.objects.filter(student=None).select_related("person")
    correction = get_object_or_404(of_a_person, key=correction_key)
    try:
        if asked := undo_or_ask(request, correction, None):
            return asked
    except ValidationError as refusal:
        return render_not_undone(request, correction, refusal, None)
    messages.success(request, "Undone. Everything is as it was before.")
    return redirect("corrections")


def undo_or_ask(request: Request, correction: Correction, student: Student | None) -> HttpResponse | None:
    """Undo a correction, or the answer that asks a second person.

    Raises ValidationError where it cannot be undone.
    """
    now = timezone.now()
    if correction.may_be_undone(now) and undo_needs_approval(correction, request.academy, request.academy.today(now)):
        return ask_first(request, student, undo_request(correction, by=request.user))
    undo_by_kind(correction, by=request.user, at=now, academy=request.academy)
    return None


def render_not_undone(
    request: Request, correction: Correction, refusal: ValidationError, student: Student | None
) -> HttpResponse:
    """The page that says why a correction is not undone."""
    context = {"student": student, "correction": correction, "problem": refusal.messages[0]}
    return render(request, "corrections/not_undone.html", context, status=422)


@require_POST
def lesson_edit_undo(request: Request, key: uuid.UUID, lesson_key: uuid.UUID, edit_key: uuid.UUID) -> HttpResponse:
    """Undo an edit of a finished lesson, as a whole; one that is undone already stays so."""
    student = gate.get_student(request, Permission.CORRECT, key)
    lesson = get_object_or_404(student.lessons.complete().select_related("session"), key=lesson_key)
    edit = next((edit for edit in edits_of(lesson) if edit.key == edit_key), None)
    if edit is None:
        raise Http404
    if not edit.is_undone:
        try:
            undo_edit(lesson=lesson, edit=edit, by=request.user)
        except ValidationError as refusal:
            context = {"student": student, "lesson": lesson, "edit": edit, "problem": refusal.messages[0]}
            return render(request, "corrections/edit_not_undone.html", context, status=422)
    messages.success(request, EDIT_UNDONE)
    return redirect("lesson", key=key, lesson_key=lesson_key)


def may_undo(request: Request, correction: Correction) -> bool:
    """Whether the person may correct the record of every student whom it concerns; of care, managers alone decide."""
    if correction.kind == Correction.Kind.CARE and not request.user.is_manager:
        return False
    concerned = set(filter(None, [correction.student_id]))
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
