"""What the page of a student shows of a planned erasure."""

from typing import Any

from django import template

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Student
from coachbook.rights.erasure.asking import planned_for
from coachbook.rights.models import ErasureRequest

register = template.Library()


@register.inclusion_tag("rights/parts/planned_notice.html", takes_context=True)
def planned_erasure(context: dict[str, Any]) -> dict[str, Any]:
    """That an erasure is planned, for every reader of the page."""
    return {"student": context["student"], "planned": planned_of(context["student"])}


@register.inclusion_tag("rights/parts/own_data_links.html", takes_context=True)
def own_data(context: dict[str, Any]) -> dict[str, Any]:
    """The ways to the file and to the erasure, for whoever may go them."""
    student = context["student"]
    return {
        "student": student,
        "planned": planned_of(student),
        "exports": gate.is_allowed(student, Permission.EXPORT_RECORD),
        "erases": gate.is_allowed(student, Permission.ERASE_RECORD),
    }


def planned_of(student: Student) -> ErasureRequest | None:
    """The planned erasure, asked for once a page."""
    if not hasattr(student, "planned_erasure"):
        student.planned_erasure = planned_for(student)  # type: ignore[attr-defined]
    planned: ErasureRequest | None = student.planned_erasure  # type: ignore[attr-defined]
    return planned
