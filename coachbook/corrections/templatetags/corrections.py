"""What other rooms' pages say of mistakes put right."""

from typing import Any

from django import template
from django.utils import timezone

from coachbook.accounts.models import Student
from coachbook.corrections.models import Amendment
from coachbook.corrections.reopen import closed_of_late

register = template.Library()


@register.inclusion_tag("corrections/parts/waiting.html")
def corrections_waiting() -> dict[str, int]:
    """How many corrections no manager has seen yet."""
    return {"number": Amendment.objects.filter(seen_at=None).count()}


@register.inclusion_tag("corrections/parts/closed_of_late.html", takes_context=True)
def closed_focuses(context: dict[str, Any], student: Student) -> dict[str, Any]:
    """What lessons of the last thirty days closed, to open again."""
    closed = closed_of_late(student, timezone.now())
    return {"student": student, "closed": closed, "csrf_token": context.get("csrf_token")}
