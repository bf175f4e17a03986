"""What pages of other apps show of a student's lessons."""

from collections.abc import Sequence
from datetime import date

from django import template
from django.template.context import Context

from coachbook.accounts.models import Student
from coachbook.http import Request
from coachbook.loop.students.on_their_own import LastSheet, last_sheet

register = template.Library()


@register.simple_tag(takes_context=True)
def drills_from(context: Context, student: Student, on: date, cards: Sequence[object]) -> LastSheet | None:
    """The sheet that the drills of today are from, where the last lesson was long ago."""
    request: Request = context["request"]
    return last_sheet(student, on, request.academy, has_drills=bool(cards))
