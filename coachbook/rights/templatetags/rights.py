"""What the page of a student shows of a planned erasure."""

from typing import Any

from django import template

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission

register = template.Library()


@register.inclusion_tag("rights/parts/own_data_links.html", takes_context=True)
def own_data(context: dict[str, Any]) -> dict[str, Any]:
    """The ways to the file and to the erasure, for whoever may go them."""
    student = context["student"]
    return {
        "student": student,
        "exports": gate.is_allowed(student, Permission.EXPORT_RECORD),
        "erases": gate.is_allowed(student, Permission.ERASE_RECORD),
    }
