"""The link under which a coach's own calendar program reads the appointments."""

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST, require_safe

from coachbook.accounts import gate
from coachbook.accounts.gate import Act
from coachbook.accounts.models import Academy
from coachbook.diary.calendar.feed import calendar_of, coach_of, end_link, fresh_link, mark_of
from coachbook.http import Request


@require_GET
def calendar(request: Request) -> HttpResponse:
    """How the appointments come into a calendar program, and whether a link stands."""
    gate.enter(request, Act.HOLD)
    standing = request.user.coach.calendar_feeds.filter(ended_at=None).first()
    return render(request, "diary/calendar.html", {"standing": standing})


@require_POST
def calendar_link(request: Request) -> HttpResponse:
    """A fresh link, shown once; the one before it ends."""
    gate.enter(request, Act.HOLD)
    token = fresh_link(request.user.coach, timezone.now())
    link = request.build_absolute_uri(reverse("calendar_feed", args=[token]))
    return render(request, "diary/calendar.html", {"link": link, "standing": True})


@require_POST
def calendar_end(request: Request) -> HttpResponse:
    """End the link."""
    gate.enter(request, Act.HOLD)
    end_link(request.user.coach, timezone.now())
    messages.success(request, "The link is ended. A calendar that reads it gets nothing more.")
    return redirect("calendar")


@login_not_required
@require_safe
def calendar_feed(request: HttpRequest, token: str) -> HttpResponse:
    """A coach's appointments for whoever holds the token: names of adults, initials of juniors, no notes."""
    coach = coach_of(token)
    if coach is None:
        raise Http404
    text = calendar_of(coach, Academy.current(), timezone.now(), request.get_host().split(":")[0])
    mark, headers = mark_of(text), {"Cache-Control": "private, no-cache", "X-Robots-Tag": "noindex"}
    if request.headers.get("If-None-Match") == mark:
        return HttpResponse(status=304, headers={**headers, "ETag": mark})
    headers |= {"ETag": mark, "Content-Disposition": 'inline; filename="appointments.ics"'}
    return HttpResponse(text, content_type="text/calendar; charset=utf-8", headers=headers)
