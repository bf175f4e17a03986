"""Template filters about families."""

from django import template
from django.utils import timezone

from coachbook.family.messages import thread
from coachbook.http import Request

register = template.Library()


@register.filter
def has_children(request: Request) -> bool:
    """Whether the signed-in person is the guardian of somebody; asked once per request."""
    cache = vars(request)
    if "user_has_children" not in cache:
        today = request.academy.today(timezone.now())
        cache["user_has_children"] = thread.has_children(request.user, request.academy, today)
    return bool(cache["user_has_children"])
