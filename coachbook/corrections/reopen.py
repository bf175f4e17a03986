"""A focus that was closed by mistake, opened again."""

from datetime import datetime, timedelta

from django.core.exceptions import ValidationError
from django.db import transaction

from coachbook.accounts.models import Student, User
from coachbook.corrections.models import Amendment
from coachbook.corrections.record import Record
from lessons.log import pick_up_again
from lessons.models import Focus, Lesson
from lessons.models.record import FocusQuerySet

REOPENABLE = timedelta(days=30)


def closed_of_late(student: Student, at: datetime) -> FocusQuerySet:
    """What lessons of the last days closed; a draft has closed nothing yet."""
    of_late = {"closed_in__session__starts_at__gte": at - REOPENABLE, "closed_in__status": Lesson.Status.COMPLETE}
    return student.focuses.filter(**of_late).select_related("fault__skill", "closed_in__session", "student")


@transaction.atomic
def reopen_focus(*, focus: Focus, by: User, at: datetime) -> Amendment:
    """Open a focus again that was closed by mistake; 30 days later it is a new one."""
    if not closed_of_late(focus.student, at).filter(pk=focus.pk).exists():
        raise ValidationError("This was closed more than 30 days ago. Take it on in the next lesson.")
    record, closed_in = Record(by), focus.closed_in
    with record.watched([focus]):
        vars(focus)["_history_user"] = by
        pick_up_again(focus=focus)
    return Amendment.objects.create(
        kind=Amendment.Kind.OPENED,
        student=focus.student,
        lesson=closed_in,
        by=by,
        at=at,
        words="A focus was opened again",
        changes=record.entries,
    )
