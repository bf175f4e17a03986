"""The page of a pair, what is kept beside it, and a checkpoint through all lessons."""

import uuid
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST
from django.views.decorators.vary import vary_on_headers

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Student
from coachbook.accounts.pictures import picture_consent
from coachbook.http import Request
from coachbook.loop.stills.beside.forms import AlignForm, FocusForm
from coachbook.loop.stills.beside.gather import (
    Pair,
    Panel,
    of_pair,
    page_address,
    pairs_of,
    small_address,
    with_sources,
)
from coachbook.loop.stills.beside.over_time import LESSONS, choices_of, rows_of, with_measures
from coachbook.loop.stills.views import readable_stills
from lessons.models import Checkpoint, Focus, Lesson, View
from lessons.wording import render_typed


@require_GET
def beside(
    request: Request, key: uuid.UUID, lesson_key: uuid.UUID, checkpoint_key: uuid.UUID, view: str
) -> HttpResponse:
    """Arrival, departure and how it should look, side by side and wiped."""
    student = gate.get_student(request, Permission.READ_RECORD, key)
    return render_beside(request, student, get_pair_or_404(request, student, lesson_key, checkpoint_key, view))


@require_GET
@vary_on_headers("HX-Request")
def stills_pairs(request: Request, key: uuid.UUID, lesson_key: uuid.UUID) -> HttpResponse:
    """All pairs of one lesson: a page, and the part of its record that is loaded behind it."""
    student = gate.get_student(request, Permission.READ_RECORD, key)
    lessons = student.lessons.complete() if reads_plain(student) else student.lessons.all()
    lesson = get_object_or_404(lessons.select_related("session"), key=lesson_key)
    pairs = readable_pairs(request, student, lesson)
    context = {"student": student, "lesson": lesson, "pairs": pairs, "plain": reads_plain(student)}
    template = "loop/stills/beside/pairs.html" if request.htmx else "loop/stills/beside/lesson_pairs.html"
    return render(request, template, context)


@require_POST
def stills_align(
    request: Request, key: uuid.UUID, lesson_key: uuid.UUID, checkpoint_key: uuid.UUID, view: str
) -> HttpResponse:
    """Keep the same two points of arrival and departure."""
    student = gate.get_student(request, Permission.LOG_LESSONS, key)
    pair = get_pair_or_404(request, student, lesson_key, checkpoint_key, view)
    if not pair.is_whole:
        raise Http404
    form = AlignForm(request.POST, pair=pair)
    if not form.is_valid():
        return render_beside(request, student, pair, form)
    form.save()
    messages.success(request, "Aligned. Both pictures have one scale now.")
    return redirect("stills_beside", key, lesson_key, checkpoint_key, view)


@require_POST
def stills_focus(
    request: Request, key: uuid.UUID, lesson_key: uuid.UUID, checkpoint_key: uuid.UUID, view: str
) -> HttpResponse:
    """Keep which focus the pair shows."""
    student = gate.get_student(request, Permission.LOG_LESSONS, key)
    pair = get_pair_or_404(request, student, lesson_key, checkpoint_key, view)
    form = FocusForm(request.POST, focuses=open_focuses(student, pair))
    if not form.is_valid():
        return render_beside(request, student, pair, focus_form=form)
    messages.success(request, f"Kept: {render_typed(str(form.save(pair)))} is seen in {pair.name}.")
    return redirect("stills_beside", key, lesson_key, checkpoint_key, view)


@require_GET
def stills_over_time(request: Request, key: uuid.UUID) -> HttpResponse:
    """One checkpoint and view through all lessons, as a row of thumbnails."""
    student = gate.get_student(request, Permission.READ_RECORD, key)
    plain = not gate.is_allowed(student, Permission.READ_NOTES)
    stills = list(readable_stills(request, student).select_related("checkpoint", "lesson__session"))
    choices = choices_of(stills, request.GET.get("show", ""), plain=plain)
    rows = rows_of(stills, next((choice for choice in choices if choice.is_shown), None), plain=plain)
    context: dict[str, Any] = {
        "student": student,
        "plain": plain,
        "choices": choices,
        "rows": with_measures(rows[:LESSONS]),
    }
    context |= {"number": len(rows), "most": LESSONS}
    if not stills:
        context["answer"] = picture_consent(student, request.academy, request.academy.today(timezone.now()))
    return render(request, "loop/stills/beside/over_time.html", context)


def get_pair_or_404(
    request: Request, student: Student, lesson_key: uuid.UUID, checkpoint_key: uuid.UUID, view: str
) -> Pair:
    """The pair at this address, of stills that this person may see."""
    if view not in View.values:
        raise Http404
    checkpoint = get_object_or_404(Checkpoint, key=checkpoint_key)
    stills = lesson_stills(request, student, lesson_key).filter(of_pair(checkpoint, view))
    pair = next(iter(pairs_of(of_student(stills, student), plain=reads_plain(student))), None)
    if pair is None:
        raise Http404
    return pair


def readable_pairs(request: Request, student: Student, lesson: Lesson) -> list[tuple[Pair, list[Panel]]]:
    """The pairs of a lesson that this person may see today, each with its pictures."""
    stills = of_student(lesson_stills(request, student, lesson.key), student)
    pairs = pairs_of(stills, plain=reads_plain(student))
    return [(pair, with_sources(pair, small_address)) for pair in pairs]


def lesson_stills(request: Request, student: Student, lesson_key: uuid.UUID) -> Any:
    """The stills of one lesson that this person may see today."""
    return (
        readable_stills(request, student).filter(lesson__key=lesson_key).select_related("checkpoint", "lesson__session")
    )


def of_student(stills: Any, student: Student) -> list[Any]:
    """The stills, each with the student who was read already."""
    found = list(stills)
    for still in found:
        still.lesson.student = student
    return found


def reads_plain(student: Student) -> bool:
    """Whether the page is for a student or a guardian, who read plain words."""
    return not gate.is_allowed(student, Permission.READ_NOTES)


def open_focuses(student: Student, pair: Pair) -> list[Focus]:
    """The student's open focuses in the area of the checkpoint."""
    rows = student.focuses.filter(area=pair.checkpoint.area, closed_in=None)
    return list(rows.select_related("fault", "seen_from__checkpoint").order_by("slot"))


def lesson_of(pair: Pair) -> Lesson:
    """The lesson in which the pair was taken."""
    return pair.latest.lesson


def render_beside(
    request: Request,
    student: Student,
    pair: Pair,
    align_form: AlignForm | None = None,
    focus_form: FocusForm | None = None,
) -> HttpResponse:
    """The page of a pair; 422 where a form on it is invalid."""
    panels = with_sources(pair, page_address)
    context: dict[str, Any] = {
        "student": student,
        "lesson": lesson_of(pair),
        "pair": pair,
        "panels": panels,
        "wiped": panels[:2] if pair.is_whole else [],
        "wipe": parse_wipe(request.GET.get("wipe", "")),
        "plain": pair.plain,
    }
    if gate.is_allowed(student, Permission.LOG_LESSONS):
        context |= coach_forms(student, pair, align_form, focus_form)
    status = 422 if align_form or focus_form else 200
    return render(request, "loop/stills/beside/beside.html", context, status=status)


def coach_forms(
    student: Student, pair: Pair, align_form: AlignForm | None, focus_form: FocusForm | None
) -> dict[str, Any]:
    """The forms of a coach: the points of a whole pair, and the focus that it shows where there is one."""
    focuses = open_focuses(student, pair)
    return {
        "align_form": (align_form or AlignForm(pair=pair)) if pair.is_whole else None,
        "focus_form": focus_form or (FocusForm(focuses=focuses) if focuses else None),
        "form": align_form or focus_form,
        "shown_for": [
            render_typed(str(focus))
            for focus in focuses
            if (seen := getattr(focus, "seen_from", None))
            and (seen.checkpoint_id, seen.view) == (pair.checkpoint.pk, pair.view)
        ],
    }


def parse_wipe(word: str) -> int:
    """Where the line of the wipe stands, in percent from the left; the middle where it is not said."""
    return min(100, int(word)) if word.isascii() and word.isdigit() and len(word) < 4 else 50
