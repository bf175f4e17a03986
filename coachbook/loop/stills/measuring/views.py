"""Measuring in a still: the page, keeping a value, taking one away and putting it back."""

import uuid

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse, HttpResponseRedirect, QueryDict
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Student
from coachbook.forms import render_form
from coachbook.http import Request
from coachbook.loop.stills.measuring.forms import MeasureForm, putter_words, skills_for
from coachbook.loop.stills.views import readable_stills
from lessons.measuring import ONE_CAMERA, Kind
from lessons.models import Still, StillMeasure
from lessons.stills.measured import keep_measure, restore_measure, void_measure

GRID = 100  # pixels from line to line, where points are typed without a script


@require_GET
def still_measures(request: Request, key: uuid.UUID, lesson_key: uuid.UUID, still_key: uuid.UUID) -> HttpResponse:
    """The picture with what was measured in it, and the form to measure one thing more."""
    student = gate.get_student(request, Permission.LOG_LESSONS, key)
    still = still_at(request, student, lesson_key, still_key)
    form = form_for(request, still, kind_named(request.GET))
    return render_measures(request, student, still, form, uuid.uuid4())


@require_POST
def still_measure(
    request: Request, key: uuid.UUID, lesson_key: uuid.UUID, still_key: uuid.UUID, measure_key: uuid.UUID
) -> HttpResponse:
    """Keep what was measured, once; or compute it only, where that button was pressed."""
    student = gate.get_student(request, Permission.LOG_LESSONS, key)
    still = still_at(request, student, lesson_key, still_key)
    stored = gate.own_or_new(still.measures.all(), measure_key)
    if stored is None:
        form = form_for(request, still, kind_named(request.POST), request.POST)
        if not form.is_valid() or "compute" in request.POST or not keep(form, measure_key, request):
            return render_measures(request, student, still, form, measure_key)
    address = reverse("still_measures", args=[key, lesson_key, still_key])
    return redirect(f"{address}?kind={kind_named(request.POST)}")


@require_POST
def still_measure_void(
    request: Request, key: uuid.UUID, lesson_key: uuid.UUID, still_key: uuid.UUID, measure_key: uuid.UUID
) -> HttpResponseRedirect:
    """Take away what was measured, and the number that a skill had of it."""
    student = gate.get_student(request, Permission.LOG_LESSONS, key)
    row = measure_at(request, student, lesson_key, still_key, measure_key)
    try:
        void_measure(row=row, at=timezone.now())
    except ValidationError as refusal:
        messages.error(request, refusal.messages[0])
    else:
        messages.success(request, f"Taken away: {row}. You can put it back.")
    return redirect("still_measures", key=key, lesson_key=lesson_key, still_key=still_key)


@require_POST
def still_measure_restore(
    request: Request, key: uuid.UUID, lesson_key: uuid.UUID, still_key: uuid.UUID, measure_key: uuid.UUID
) -> HttpResponseRedirect:
    """Put back what was taken away."""
    student = gate.get_student(request, Permission.LOG_LESSONS, key)
    row = measure_at(request, student, lesson_key, still_key, measure_key)
    try:
        restore_measure(row=row)
    except ValidationError as refusal:
        messages.error(request, refusal.messages[0])
    else:
        messages.success(request, f"Back again: {row}.")
    return redirect("still_measures", key=key, lesson_key=lesson_key, still_key=still_key)


def still_at(request: Request, student: Student, lesson_key: uuid.UUID, still_key: uuid.UUID) -> Still:
    """The still at this address; 404 where it may not be shown."""
    rows = readable_stills(request, student).select_related("checkpoint", "lesson__session__coach", "lesson__student")
    return get_object_or_404(rows, key=still_key, lesson__key=lesson_key)


def measure_at(
    request: Request, student: Student, lesson_key: uuid.UUID, still_key: uuid.UUID, measure_key: uuid.UUID
) -> StillMeasure:
    """What was measured at this address; 404 where its still may not be shown."""
    still = still_at(request, student, lesson_key, still_key)
    row = get_object_or_404(still.measures.select_related("skill"), key=measure_key)
    row.still = still
    return row


def kind_named(data: QueryDict) -> Kind:
    """The kind that an address or a form names; a distance by a known length where it names none."""
    named = data.get("kind", "")
    return Kind(named) if named in list(Kind) else Kind.LENGTH


def form_for(request: Request, still: Still, kind: Kind, data: QueryDict | None = None) -> MeasureForm:
    """The form for one thing more."""
    coach = request.user.coach if request.user.is_coach else None
    skills = skills_for(still, kind, coach)
    return MeasureForm(data, still=still, kind=kind, skills=skills, initial={"known_cm": putter_words(still)})


def keep(form: MeasureForm, measure_key: uuid.UUID, request: Request) -> bool:
    """Keep what a valid form measured; where it cannot be entered, the form says why."""
    row = form.row(key=measure_key, measured_by=request.user, measured_at=timezone.now())
    try:
        before = keep_measure(row=row)
    except ValidationError as refusal:
        form.add_error("skill", refusal)
        return False
    entered = f" Entered in the log, on {form.still.moment}" if row.skill else ""
    messages.success(request, f"Kept: {row}.{entered}{f', in place of {before}' if before else ''}{entered and '.'}")
    return True


def render_measures(
    request: Request, student: Student, still: Still, form: MeasureForm, measure_key: uuid.UUID
) -> HttpResponse:
    """The page; 422 where what was sent cannot be kept."""
    rows = list(still.measures.select_related("skill").order_by("measured_at", "pk"))
    context = {
        "student": student,
        "still": still,
        "measure_key": measure_key,
        "kinds": [(kind.value, kind.form.short, kind is form.kind) for kind in Kind],
        "measures": [row for row in rows if row.voided_at is None],
        "taken_away": [row for row in rows if row.voided_at is not None],
        "one_camera": ONE_CAMERA,
        "grid": {"right": range(GRID, still.width, GRID), "down": range(GRID, still.height, GRID)},
    }
    return render_form(request, "loop/stills/measuring/page.html", form, context)
