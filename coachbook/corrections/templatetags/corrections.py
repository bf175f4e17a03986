"""What pages of other apps show of corrections."""

from typing import Any

from django import template
from django.utils import timezone

from coachbook.accounts.models import Student
from coachbook.corrections.models import UNDO_PERIOD, Correction
from coachbook.corrections.reopen import REOPEN_PERIOD, recently_closed

register = template.Library()


@register.simple_tag
def undo_days() -> int:
    """For how many days a correction can be undone."""
    return UNDO_PERIOD.days


@register.inclusion_tag("corrections/parts/unseen.html")
def unseen_corrections() -> dict[str, int]:
    """How many corrections no manager has seen yet."""
    return {"number": Correction.objects.filter(seen_at=None).count()}


@register.inclusion_tag("corrections/parts/recently_closed.html", takes_context=True)
def closed_focuses(context: dict[str, Any], student: Student) -> dict[str, Any]:
    """The focuses that were closed not long ago, to open again."""
    closed = recently_closed(student, timezone.now())
    return {"student": student, "closed": closed, "days": REOPEN_PERIOD.days, "csrf_token": context.get("csrf_token")}
