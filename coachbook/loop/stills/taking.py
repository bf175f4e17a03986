"""Taking a still: before anything else of a lesson is stored, the lesson begins with it."""

import uuid
from datetime import datetime

from django.db import IntegrityError, transaction
from django.utils import timezone

from coachbook.accounts.models import Consent, Student, User
from coachbook.http import Request
from coachbook.loop.log.lesson_form import this_and_last, usual_areas
from coachbook.loop.stills.forms import StillForm, asked_text
from coachbook.outbox.once import filled_in_at
from lessons.models import Lesson, Session, Still
from lessons.stills.rows import check_room, keep_still


def lesson_at(request: Request, student: Student, key: uuid.UUID) -> Lesson:
    """The lesson at this address, or an unsaved one as the log would begin it; 404 where it is another student's."""
    at = taken_at(request)
    lesson, last = this_and_last(student, key, at, request.academy)
    if lesson:
        return lesson
    coach = request.user.coach if request.user.is_coach else None
    session = Session(coach=coach, starts_at=at, kind=kind_asked(request))
    return Lesson.for_student(student, session, key=key, **usual_areas(last))


def taken_at(request: Request) -> datetime:
    """When the shutter was pressed: a still that waited on a phone is of the day on which it was taken."""
    return filled_in_at(request, timezone.now())


def kind_asked(request: Request) -> Session.Kind:
    """The kind of a session that is not stored yet, as its address names it."""
    named = request.GET.get("kind", "")
    return Session.Kind(named) if named in (Session.Kind.COURSE, Session.Kind.CLIP) else Session.Kind.LESSON


def blank_form(lesson: Lesson, stills: list[Still], *, asks: bool) -> StillForm:
    """The form for one more still, with moment, view and club as in the last one."""
    last = max(stills, key=lambda row: row.taken_at, default=None)
    usual = {"moment": last.moment, "view": last.view, "club": last.club} if last else {"moment": "arrival"}
    return StillForm(lesson=lesson, asks=asks, initial=usual)


def take_still(*, lesson: Lesson, key: uuid.UUID, form: StillForm, by: User, at: datetime) -> Still:
    """Keep a still of a valid form; the draft of a fresh lesson and an adult's first consent are stored with it."""
    values = {name: form.cleaned_data[name] for name in form.Meta.fields}
    picture = form.cleaned_data["picture"]
    check_room(lesson.student, len(picture.large) + len(picture.small))
    lesson = begin(lesson)
    if "agrees" in form.fields:
        note_agreement(lesson.student, asked_text(lesson.student.name), by, at)
    still = keep_still(lesson=lesson, key=key, picture=picture, by=by, at=at, **values)
    set_to_come(lesson, False)
    return still


def set_to_come(lesson: Lesson, to_come: bool) -> None:
    """Note that a picture of the lesson is still to come, or that it came; nothing waits for it."""
    lesson = begin(lesson)
    if lesson.stills_to_come != to_come:
        lesson.stills_to_come = to_come
        lesson.save(update_fields=["stills_to_come"])


def begin(lesson: Lesson) -> Lesson:
    """The lesson, stored as a draft where it was not; begun twice at once, it is the one that came first."""
    if lesson.pk:
        return lesson
    try:
        with transaction.atomic():
            lesson.session.save()
            lesson.save()
    except IntegrityError:
        return Lesson.objects.select_related("student", "session").get(key=lesson.key)
    return lesson


def note_agreement(student: Student, text: str, by: User, at: datetime) -> None:
    """Note that an adult agreed in the lesson, with whoever asked them."""
    values = {"given_by": by, "given_at": at, "text_shown": text}
    Consent.objects.get_or_create(student=student, purpose=Consent.Purpose.PHOTOS, withdrawn_at=None, defaults=values)
