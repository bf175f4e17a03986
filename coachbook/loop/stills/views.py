"""The stills of a lesson: taking one, the list, taking one away; and their files, which no other address opens."""

import uuid
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.files.storage import default_storage
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Student
from coachbook.accounts.pictures import Answer, picture_consent
from coachbook.forms import render_form
from coachbook.http import Request
from coachbook.loop.stills.consent.views import was_said_to_a_coach
from coachbook.loop.stills.forms import StillForm, WordsForm
from coachbook.loop.stills.taking import blank_form, lesson_at, set_to_come, take_still, taken_at
from coachbook.middleware import permissions_policy
from coachbook.outbox.once import once, once_saved
from lessons.measuring import ONE_CAMERA
from lessons.models import Lesson, Session, Still
from lessons.models.stills import StillQuerySet, stroke_order
from lessons.stills.erasing import erase_stills
from lessons.stills.measured import change_still
from lessons.stills.picture import MOST_BYTES
from lessons.stills.rows import NoRoom, shown_stills

# A file is no page: even if one were, it could load, run and send nothing.
FILE_HEADERS = {
    "Cache-Control": "private, no-store",
    "Content-Security-Policy": "default-src 'none'; sandbox",
    "Cross-Origin-Resource-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
}


@require_GET
def stills(request: Request, key: uuid.UUID, lesson_key: uuid.UUID) -> HttpResponse:
    """The stills of one lesson, and for those who log lessons the form to take one more."""
    student = gate.get_student(request, Permission.READ_RECORD, key)
    return render_stills(request, student, readable_lesson(request, student, lesson_key))


@once_saved
@require_http_methods(["GET", "POST"])
def still(request: Request, key: uuid.UUID, lesson_key: uuid.UUID, still_key: uuid.UUID) -> HttpResponse:
    """One still; a POST to a fresh address takes it, and the same one sent twice is kept once."""
    permission = Permission.LOG_LESSONS if request.method == "POST" else Permission.READ_RECORD
    student = gate.get_student(request, permission, key)
    lesson = readable_lesson(request, student, lesson_key)
    if request.method == "POST":
        return take(request, student, lesson, still_key)
    if gate.own_or_new(Still.objects.filter(lesson__student=student), still_key) is None:
        return redirect("stills", key=key, lesson_key=lesson_key)  # none was kept here: one was refused, or erased
    row = get_object_or_404(readable_stills(request, student), key=still_key, lesson__key=lesson_key)
    side = None if writes(student) else getattr(row.lesson, f"{row.checkpoint.area}_side")  # a player's own words
    context = {"student": student, "lesson": lesson, "still": row, "writes": writes(student), "side": side}
    context |= {"one_camera": ONE_CAMERA, "plain": not gate.is_allowed(student, Permission.READ_NOTES)}
    return render(request, "loop/stills/still.html", context)


def take(request: Request, student: Student, lesson: Lesson, still_key: uuid.UUID) -> HttpResponse:
    """Keep a still that was sent, or say what is wrong with it."""
    stored = gate.own_or_new(Still.objects.filter(lesson__student=student), still_key)
    if stored is None:
        answer = picture_consent(student, request.academy, request.academy.today(timezone.now()))
        form = StillForm(request.POST, request.FILES, lesson=lesson, asks=answer == Answer.TO_ASK)
        if answer not in (Answer.GIVEN, Answer.TO_ASK) or not form.is_valid():
            return render_stills(request, student, lesson, form, still_key)
        try:
            stored = take_still(lesson=lesson, key=still_key, form=form, by=request.user, at=taken_at(request))
        except NoRoom as problem:
            form.add_error("picture", str(problem))
            return render_stills(request, student, lesson, form, still_key)
    messages.success(request, f"Kept: {stored}.")
    return redirect("stills", key=student.key, lesson_key=lesson.key)


@require_GET
def still_picture(request: Request, key: uuid.UUID, lesson_key: uuid.UUID, still_key: uuid.UUID) -> HttpResponse:
    """The file of a still."""
    student = gate.get_student(request, Permission.READ_RECORD, key)
    row = get_object_or_404(readable_stills(request, student), key=still_key, lesson__key=lesson_key)
    return file_response(row.path, f"still-{row.key}.jpg")


@require_GET
def still_thumbnail(request: Request, key: uuid.UUID, lesson_key: uuid.UUID, still_key: uuid.UUID) -> HttpResponse:
    """The file of its thumbnail."""
    student = gate.get_student(request, Permission.READ_RECORD, key)
    row = get_object_or_404(readable_stills(request, student), key=still_key, lesson__key=lesson_key)
    return file_response(row.thumbnail_path, f"still-{row.key}-small.jpg")


@require_POST
def still_hide(request: Request, key: uuid.UUID, lesson_key: uuid.UUID, still_key: uuid.UUID) -> HttpResponseRedirect:
    """Take a still away; it is put back as long as its files are there."""
    student = gate.get_student(request, Permission.LOG_LESSONS, key)
    row = get_object_or_404(Still, lesson__student=student, lesson__key=lesson_key, key=still_key)
    row.set_hidden(timezone.now())
    messages.success(request, f"Taken away: {row}. You can put it back.")
    return redirect("stills", key=key, lesson_key=lesson_key)


@require_POST
def still_show(request: Request, key: uuid.UUID, lesson_key: uuid.UUID, still_key: uuid.UUID) -> HttpResponseRedirect:
    """Put back a still that was taken away."""
    student = gate.get_student(request, Permission.LOG_LESSONS, key)
    row = get_object_or_404(Still, lesson__student=student, lesson__key=lesson_key, key=still_key)
    row.set_hidden(None)
    messages.success(request, f"Back again: {row}.")
    return redirect("stills", key=key, lesson_key=lesson_key)


@once
@require_POST
def stills_to_come(request: Request, key: uuid.UUID, lesson_key: uuid.UUID) -> HttpResponseRedirect:
    """Note that a picture is still to come, or that none is any more; the log is finished all the same."""
    student = gate.get_student(request, Permission.LOG_LESSONS, key)
    set_to_come(readable_lesson(request, student, lesson_key), request.POST.get("to_come") == "1")
    return redirect("stills", key=key, lesson_key=lesson_key)


@require_http_methods(["GET", "POST"])
def still_change(request: Request, key: uuid.UUID, lesson_key: uuid.UUID, still_key: uuid.UUID) -> HttpResponse:
    """Say again what a still shows."""
    student = gate.get_student(request, Permission.LOG_LESSONS, key)
    row = get_object_or_404(readable_stills(request, student), key=still_key, lesson__key=lesson_key)
    form = WordsForm(request.POST if request.method == "POST" else None, instance=row, lesson=row.lesson)
    if form.is_valid():
        try:
            change_still(still=form.save(commit=False))
        except ValidationError as refusal:
            form.add_error("moment", refusal)
        else:
            messages.success(request, f"Saved: {row}.")
            return redirect("still", key=key, lesson_key=lesson_key, still_key=still_key)
    return render_form(request, "loop/stills/change.html", form, {"student": student, "still": row})


@require_POST
def still_erase(request: Request, key: uuid.UUID, lesson_key: uuid.UUID, still_key: uuid.UUID) -> HttpResponseRedirect:
    """Erase for good a still that was taken away."""
    student = gate.get_student(request, Permission.LOG_LESSONS, key)
    lesson = get_object_or_404(student.lessons, key=lesson_key)
    if erase_stills(Still.objects.taken_away().filter(lesson=lesson, key=still_key)):
        messages.success(request, "Erased for good.")
    return redirect("stills", key=key, lesson_key=lesson_key)


def writes(student: Student) -> bool:
    """Whether the person takes stills of this student."""
    return gate.is_allowed(student, Permission.LOG_LESSONS)


def readable_lesson(request: Request, student: Student, lesson_key: uuid.UUID) -> Lesson:
    """The lesson at this address: a draft only for coaches and managers, a fresh one only for coaches; else 404."""
    lesson = lesson_at(request, student, lesson_key)
    reads_drafts = gate.is_allowed(student, Permission.READ_NOTES)
    if (lesson.pk is None and not writes(student)) or (lesson.status == Lesson.Status.DRAFT and not reads_drafts):
        raise Http404
    return lesson


def readable_stills(request: Request, student: Student) -> StillQuerySet:
    """The stills of a student that this person may see today; the family sees those of finished lessons."""
    rows = shown_stills(student, request.academy, request.academy.today(timezone.now()))
    reads_drafts = gate.is_allowed(student, Permission.READ_NOTES)
    return rows if reads_drafts else rows.filter(lesson__status=Lesson.Status.COMPLETE)


def file_response(path: str, name: str) -> HttpResponse:
    """A file of the storage under a name of our own; 404 where it is gone."""
    try:
        with default_storage.open(path) as file:
            content = file.read()
    except FileNotFoundError as error:
        raise Http404 from error
    headers = FILE_HEADERS | {"Content-Disposition": f'inline; filename="{name}"'}
    return HttpResponse(content, content_type="image/jpeg", headers=headers)


def render_stills(
    request: Request,
    student: Student,
    lesson: Lesson,
    form: StillForm | None = None,
    still_key: uuid.UUID | None = None,
) -> HttpResponse:
    """The page of a lesson's stills; 422 where one that was sent is not kept."""
    answer = picture_consent(student, request.academy, request.academy.today(timezone.now()))
    rows = list(readable_stills(request, student).filter(lesson__key=lesson.key))
    context: dict[str, Any] = {"student": student, "lesson": lesson, "stills": in_pairs(rows), "answer": answer}
    context["guardians"] = guardians_of(request, student) if answer == Answer.NOT_GIVEN else []
    reads_log = gate.is_allowed(student, Permission.READ_NOTES)
    context |= {"reads_log": reads_log, "plain": not reads_log}
    if writes(student):
        context |= {
            "form": form or blank_form(lesson, rows, asks=answer == Answer.TO_ASK),
            "action": reverse("still", args=[student.key, lesson.key, still_key or uuid.uuid4()]) + kind_of(lesson),
            "kind": kind_of(lesson),
            "takes": answer in (Answer.GIVEN, Answer.TO_ASK),
            "most_bytes": MOST_BYTES,
            "agreed_here": answer == Answer.GIVEN and was_said_to_a_coach(student, request),
            "hidden": list(Still.objects.taken_away().filter(lesson__key=lesson.key)),
        }
    response = render(request, "loop/stills/stills.html", context, status=200 if form is None else 422)
    response.headers["Permissions-Policy"] = permissions_policy("camera")
    return response


def in_pairs(rows: list[Still]) -> list[Still]:
    """In the order of the stroke, arrival before departure, so that the two of a checkpoint and view stand together."""
    return sorted(rows, key=lambda row: (stroke_order(row.checkpoint, row.view), row.moment, row.pk))


def guardians_of(request: Request, student: Student) -> list[str]:
    """The names of those who can consent for a junior."""
    rows = student.guardianships.in_force(request.academy.today(timezone.now())).filter(guardian__is_active=True)
    return list(rows.order_by("guardian__name", "pk").values_list("guardian__name", flat=True))


def kind_of(lesson: Lesson) -> str:
    """What an address adds to name the kind of a session that is not stored yet."""
    return "" if lesson.pk or lesson.session.kind == Session.Kind.LESSON else f"?kind={lesson.session.kind}"
