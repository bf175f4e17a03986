"""A focus that a lesson elsewhere closed while a log that speaks of it was open, or waited on a phone."""

from django.utils.formats import date_format

from coachbook.accounts.models import Academy
from coachbook.loop.log.forms import FocusForm
from lessons.models import Focus, Lesson, Session


def decision_of(form: FocusForm) -> str:
    """What a log decides of a focus that goes on: nothing chosen keeps it open."""
    return form.cleaned_data["decision"] or "open"


def is_decided_otherwise(form: FocusForm, lesson: Lesson) -> bool:
    """Whether another lesson closed the focus, and this one decides something else."""
    focus = form.focus
    if not form.continues or focus is None or focus.closed_in_id in (None, lesson.pk):
        return False
    return decision_of(form) != (focus.decision or "close")


def decided_elsewhere(focus: Focus, academy: Academy) -> str:
    """Who closed it and when, and what may be done."""
    session = Session.objects.select_related("coach__user").get(lessons=focus.closed_in_id)
    day = date_format(academy.today(session.starts_at), "j F Y")
    labels = dict(FocusForm.FIX_DECISIONS + FocusForm.TRIAL_DECISIONS)
    decision = labels[focus.decision or "close"]
    return (
        f"{session.coach.user.name} decided on {day}: {decision}. Choose the same to leave it so, or open it again on"
        " the student’s page first. What you wrote of it is kept here."
    )
