"""The pages of a coach's calendar link, and the feed itself, a coach's or a family's."""

from zoneinfo import ZoneInfo

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST, require_safe

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Academy
from coachbook.diary.calendar.family import family_calendar_for, person_for_token
from coachbook.diary.calendar.feed import calendar_for, coach_for_token, end_link, etag_of, new_link
from coachbook.http import Request, mailed_link


@require_GET
def calendar(request: Request) -> HttpResponse:
    """How to read the appointments in a calendar program, and whether there is a link."""
    gate.require(request, Permission.ACT_AS_COACH)
    has_link = request.user.coach.calendar_feeds.filter(ended_at=None).exists()
    return render(request, "diary/calendar.html", {"has_link": has_link})


@require_POST
def calendar_link(request: Request) -> HttpResponse:
    """Create a link and show it once; the one before it ends."""
    gate.require(request, Permission.ACT_AS_COACH)
    token = new_link(request.user.coach, timezone.now())
    link = request.build_absolute_uri(reverse("calendar_feed", args=[token]))
    return render(request, "diary/calendar.html", {"link": link, "has_link": True})


@require_POST
def calendar_end(request: Request) -> HttpResponse:
    """End the link."""
    gate.require(request, Permission.ACT_AS_COACH)
    end_link(request.user.coach, timezone.now())
    messages.success(request, "The link has ended. A calendar program that reads it gets nothing more.")
    return redirect("calendar")


@login_not_required
@require_safe
def calendar_feed(request: HttpRequest, token: str) -> HttpResponse:
    """What the token was made for, for whoever holds it: names of adults, initials of juniors, no notes."""
    if settings.SECURE_SSL_REDIRECT and not request.is_secure():
        raise PermissionDenied  # a redirect would hide from the person that the link travels as plain text
    text = calendar_for_token(token, request.get_host().split(":")[0], mailed_link(request, "/"))
    etag, headers = etag_of(text), {"Cache-Control": "private, no-cache", "X-Robots-Tag": "noindex"}
    if request.headers.get("If-None-Match") == etag:
        return HttpResponse(status=304, headers={**headers, "ETag": etag})
    headers |= {"ETag": etag, "Content-Disposition": 'inline; filename="appointments.ics"'}
    return HttpResponse(text, content_type="text/calendar; charset=utf-8", headers=headers)


def calendar_for_token(token: str, host: str, site: str) -> bytes:
    """The calendar to which a token leads, in the academy's time zone, or a 404."""
    academy, now = Academy.current(), timezone.now()
    with timezone.override(ZoneInfo(academy.time_zone)):
        if coach := coach_for_token(token):
            return calendar_for(coach, academy, now, host, site=site)
        if person := person_for_token(token):
            return family_calendar_for(person, academy, now, host, site=site)
    raise Http404
