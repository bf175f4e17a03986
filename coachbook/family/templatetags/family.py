"""Template filters about families."""

from django import template
from django.template import Context
from django.utils import timezone

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Student
from coachbook.family.messages import thread
from coachbook.family.messages.unread import Unread, unread_by, unread_of
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


@register.simple_tag(takes_context=True)
def unread_threads(context: Context, student: Student | None = None) -> list[Unread]:
    """What the person has not read of a student, or of all to whom they may write: a manager may write to everybody."""
    request: Request = context["request"]
    if student:
        news = unread_of(student, request.user, timezone.now())
        return [news] if news else []
    return unread_by(request.user, gate.get_students(request, Permission.SEND_MESSAGES), timezone.now())
