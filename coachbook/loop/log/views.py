"""The page of a lesson's log: one form at the lesson's own address, saved while it is typed; works without scripts."""

import uuid
from collections.abc import Sequence
from urllib.parse import quote

from django.contrib import messages
from django.db import IntegrityError, transaction
from django.http import Http404, HttpResponse, HttpResponseRedirect, JsonResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Student
from coachbook.http import Request
from coachbook.loop.log.both import Difference, differences
from coachbook.loop.log.buttons import after_button, asks_for_reading
from coachbook.loop.log.choices import LASTS, Choices
from coachbook.loop.log.fill import show_stored, show_typed, show_unsaved
from coachbook.loop.log.lesson_form import LessonForm, ThisAndLast, load_lesson_form, this_and_last
from coachbook.loop.log.rows import LESSON_LOOKS, LOOKS
from coachbook.loop.log.save import Overtaken, Stale, finish_log, focus_problems, is_superseded, new_page_id, save_log
from coachbook.loop.log.sentence import read_note
from coachbook.loop.record.views import render_record
from coachbook.outbox.once import confirm_page, conflict_status, is_from_outbox, once_saved
from lessons.joined import read_skills
from lessons.models import Lesson, Session


@require_GET
def lesson_new(request: Request, key: uuid.UUID) -> HttpResponseRedirect:
    """Redirect to a fresh address, so that reload, back, a double tap and a lost reply all reach the same lesson."""
    gate.get_student(request, Permission.LOG_LESSONS, key)
    kind = kind_of(request)
    address = reverse("lesson", args=[key, uuid.uuid4()])
    return redirect(address if kind == Session.Kind.LESSON else f"{address}?kind={kind}")


def kind_of(request: Request) -> Session.Kind:
    """The kind of session at a fresh address: a lesson, unless it names a course walk or a clip."""
    word = request.GET.get("kind")
    return next((kind for kind in LOOKS if kind == word), Session.Kind.LESSON)


@once_saved
@require_http_methods(["GET", "POST"])
def lesson(request: Request, key: uuid.UUID, lesson_key: uuid.UUID) -> HttpResponse:
    """The log of one lesson: coaches write it, a manager may read it."""
    permission = Permission.LOG_LESSONS if request.method == "POST" else Permission.READ_NOTES
    student = gate.get_student(request, permission, key)
    both = this_and_last(student, lesson_key, timezone.now(), request.academy)
    if both[0] and shows_record(request, student, both[0]):
        return render_record(request, student, both[0])
    lesson_form = load(request, student, lesson_key, both)
    if request.method == "POST":
        return save(request, lesson_form, after_button(lesson_form, request.POST, request.user))
    show_stored(lesson_form)
    show_unsaved(lesson_form)
    lesson_form.problems += focus_problems(lesson_form)
    return render_log(request, lesson_form)


def shows_record(request: Request, student: Student, lesson: Lesson) -> bool:
    """Whether a lesson opens as its record: a finished one, unless somebody who may write asks for the form."""
    edits = "edit" in request.GET and gate.is_allowed(student, Permission.LOG_LESSONS)
    return request.method == "GET" and lesson.status == Lesson.Status.COMPLETE and not edits


def load(request: Request, student: Student, lesson_key: uuid.UUID, both: ThisAndLast | None = None) -> LessonForm:
    """The log as it is stored; at a fresh address an empty one, for the student's coaches only."""
    coach = request.user.coach if gate.is_allowed(student, Permission.LOG_LESSONS) else None
    return load_lesson_form(
        student,
        lesson_key,
        academy=request.academy,
        coach=coach,
        reader=request.user,
        at=timezone.now(),
        kind=kind_of(request),
        both=both,
        posted=request.POST.getlist("focus"),
    )


def save(request: Request, lesson_form: LessonForm, data: QueryDict, *, again: bool = True) -> HttpResponse:
    """Save what is valid, finish if that was asked, and answer with the page or a fragment."""
    is_new = lesson_form.lesson.pk is None
    try:
        save_log(lesson_form, data)
        sheet = finish_log(lesson_form, timezone.now()) if "done" in data and not lesson_form.problems else None
    except Stale:
        if is_from_outbox(request) and is_superseded(lesson_form, data):
            return redirect("lesson", lesson_form.student.key, lesson_form.lesson.key)
        show_typed(lesson_form, data)
        stored = load(request, lesson_form.student, lesson_form.lesson.key)
        return render_stale(request, lesson_form, data, differences(stored, lesson_form))
    except (IntegrityError, Overtaken):  # the same lesson was saved twice at once: now with what the other one stored
        if not again:
            raise
        with transaction.atomic():
            Lesson.objects.select_for_update().filter(key=lesson_form.lesson.key).first()
            return save(request, load(request, lesson_form.student, lesson_form.lesson.key), data, again=False)
    if sheet:
        messages.success(request, "The lesson is finished. This is the sheet to take home.")
        return redirect("sheet", key=lesson_form.student.key, sheet_key=sheet.key)
    if asks_for_reading(data):
        students = gate.get_students(request, Permission.LOG_LESSONS).values_list("name", flat=True)
        lesson_form.reading = read_note(lesson_form, data, students)
    if request.htmx or lesson_form.problems or lesson_form.reading:
        answer = render_log(request, lesson_form, status=422 if lesson_form.problems else 201 if is_new else 200)
        return confirm_page(answer, lesson_form.lesson.page)
    messages.success(request, "Saved.")
    return redirect(address_after(request, lesson_form, data.get("whole", "")))


def address_after(request: Request, lesson_form: LessonForm, asked: str) -> str:
    """The page to read on after a save: at the focus that a button filled in, or at the skill that was asked for.

    Whoever has the whole page gets it again.
    """
    address = reverse("lesson", args=[lesson_form.student.key, lesson_form.lesson.key])
    whole = f"&whole={quote(asked)}" if asked or "whole" in request.GET else ""
    place = f"#skill-{quote(asked)}" if asked else ""
    if lesson_form.filled:
        place = f"#block-{lesson_form.filled[-1]}"
    return f"{address}?edit{whole}{place}" if whole or place else address


def render_stale(request: Request, lesson_form: LessonForm, data: QueryDict, both: list[Difference]) -> HttpResponse:
    """What was typed on a page that somebody overtook, and beside it what is stored, where the two differ."""
    status = conflict_status(request)
    return render_log(request, lesson_form, status=status, stale=True, base=data.get("base", ""), both=both)


def suggested_targets(lesson_form: LessonForm) -> list[str]:
    """The targets that follow from the student's recent tests; the estimates are imported only if there are any."""
    if not lesson_form.is_tested:
        return []
    from drills.scored_tests.results.estimates import success_targets

    return success_targets(lesson_form.student, lesson_form.today, academy=lesson_form.academy)


def render_log(
    request: Request,
    lesson_form: LessonForm,
    *,
    status: int = 200,
    stale: bool = False,
    base: str = "",
    both: Sequence[Difference] = (),
) -> HttpResponse:
    """The page of the log; for htmx the state of saving with the errors, and the focuses that a button filled in."""
    asked = request.POST.get("whole") or request.GET.get("whole")
    context = {
        "lesson_form": lesson_form,
        "visibility": lesson_form.visibility,
        "student": lesson_form.student,
        "lesson": lesson_form.lesson,
        "writes": gate.is_allowed(lesson_form.student, Permission.LOG_LESSONS),
        "page": new_page_id(),
        "base": base or lesson_form.lesson.version,
        "stale": stale,
        "both": both,
        "at": timezone.now(),
        "address": request.get_full_path(),
        "asked": asked,
        "choices": left_out(request, lesson_form),
        "targets": suggested_targets(lesson_form) if lesson_form.filled or not request.htmx else [],
    }
    template = "loop/log/saved.html" if request.htmx else "loop/log/log.html"
    return render(request, template, context, status=status)


def left_out(request: Request, lesson_form: LessonForm) -> Choices | None:
    """The choices that a page leaves to be fetched; None where it is whole.

    So it is for whoever asks for it, and for others than the coach who taught the lesson.
    """
    is_whole = any("whole" in data for data in (request.GET, request.POST))
    writes = gate.is_allowed(lesson_form.student, Permission.LOG_LESSONS)
    if is_whole or request.htmx or not (writes and lesson_form.visibility.taught):
        return None
    return Choices.of(request.user.coach, lesson_form.catalogue.skills, lesson_form.looks)


@require_GET
def log_choices(request: Request, looks: str, digest: str) -> JsonResponse:
    """What a coach may choose at each skill, as HTML by its code; the browser keeps it under its digest."""
    gate.require(request, Permission.ACT_AS_COACH)
    if looks not in (LESSON_LOOKS, *LOOKS.values()):
        raise Http404
    coach = request.user.coach
    choices = Choices.of(coach, read_skills(coach), looks)
    answer = JsonResponse(choices.rows)
    if digest == choices.digest:
        answer.headers["Cache-Control"] = LASTS
    return answer
