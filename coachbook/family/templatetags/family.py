"""What the head of a page asks about families."""

from django import template
from django.utils import timezone

from coachbook.family.messages.thread import has_children
from coachbook.http import Request

register = template.Library()


@register.filter
def guards(request: Request) -> bool:
    """Whether whoever looks at the page has children here: asked once a page."""
    kept = vars(request)
    if "guards_somebody" not in kept:
        kept["guards_somebody"] = has_children(request.user, request.academy, request.academy.today(timezone.now()))
    return bool(kept["guards_somebody"])
