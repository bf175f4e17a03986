"""Opening a focus again that was closed by mistake."""

from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import transaction

from coachbook.accounts.models import Student, User
from coachbook.corrections.models import UNDO_PERIOD, Correction
from coachbook.corrections.recorder import ChangeRecorder, set_history_user
from lessons import log
from lessons.models import Focus, Lesson
from lessons.models.record import FocusQuerySet

REOPEN_PERIOD = UNDO_PERIOD  # to open a focus again is to undo its closing
TOO_LATE = f"This was closed more than {REOPEN_PERIOD.days} days ago. Open a new focus in the next lesson."


def recently_closed(student: Student, at: datetime) -> FocusQuerySet:
    """The focuses that lessons of that period closed; a draft has closed nothing yet."""
    recently = {"closed_in__session__starts_at__gte": at - REOPEN_PERIOD, "closed_in__status": Lesson.Status.COMPLETE}
    return student.focuses.filter(**recently).select_related("fault__skill", "closed_in__session", "student")


@transaction.atomic
def reopen_focus(*, focus: Focus, by: User, at: datetime) -> Correction:
    """Open a focus again that was closed by mistake not long ago.

    Raises ValidationError after `REOPEN_PERIOD`, or where three focuses are open.
    """
    if not recently_closed(focus.student, at).filter(pk=focus.pk).exists():
        raise ValidationError(TOO_LATE)
    recorder, closed_in = ChangeRecorder(by), focus.closed_in
    with recorder.recording([focus]):
        set_history_user(focus, by)
        log.reopen_focus(focus=focus)
    return Correction.objects.create(
        kind=Correction.Kind.OPENED,
        student=focus.student,
        lesson=closed_in,
        by=by,
        at=at,
        summary="A focus was opened again",
        changes=recorder.entries,
    )
