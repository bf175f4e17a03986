"""The pages of the calendar link of a student or guardian; the feed itself is in views.py."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.diary.calendar.family import names_in_calendar
from coachbook.diary.calendar.feed import end_link, new_link
from coachbook.http import Request


@require_GET
def family_calendar(request: Request) -> HttpResponse:
    """How to read lessons and practice days in a calendar program, and whether there is a link."""
    gate.require(request, Permission.USE_SITE)
    return render_link(request)


@require_POST
def family_calendar_link(request: Request) -> HttpResponse:
    """Create a link and show it once; the one before it ends. Only for who practises, and for guardians."""
    gate.require(request, Permission.USE_SITE)
    if not gate.get_students(request, Permission.REPORT_PRACTICE).exists():
        raise PermissionDenied
    token = new_link(request.user, timezone.now())
    return render_link(request, request.build_absolute_uri(reverse("calendar_feed", args=[token])))


@require_POST
def family_calendar_end(request: Request) -> HttpResponse:
    """End the link."""
    gate.require(request, Permission.USE_SITE)
    end_link(request.user, timezone.now())
    messages.success(request, "The link has ended. A calendar program that reads it gets nothing more.")
    return redirect("family_calendar")


def render_link(request: Request, link: str = "") -> HttpResponse:
    """The page, with a link that was just made, and with how the calendar names each child."""
    students = list(gate.get_students(request, Permission.REPORT_PRACTICE).order_by("name", "pk"))
    context = {
        "has_students": bool(students),
        "names": list(names_in_calendar(students, request.user, request.academy, timezone.now()).values()),
        "has_link": request.user.calendar_feeds.filter(ended_at=None).exists(),
        "link": link,
    }
    return render(request, "diary/family_calendar.html", context)
