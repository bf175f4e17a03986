"""Where a coach's day begins: its lessons in order, each with its next step; and the week."""

from datetime import date, timedelta
from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Coach
from coachbook.http import Request, parse_key
from coachbook.loop.days.agenda import days_of
from lessons.models import Lesson


@require_GET
def day(request: Request) -> HttpResponse:
    """A coach's day: who comes when, what is next for each, and which logs are not finished."""
    gate.require(request, Permission.VIEW_DIARY)
    coach, on = chosen_coach(request), chosen_day(request)
    context = agenda_context(request, coach, on, 1) | {
        "before": on - timedelta(days=1),
        "after": on + timedelta(days=1),
    }
    return render(request, "loop/days/day.html", context | {"drafts": unfinished_logs(request, coach, on)})


@require_GET
def week(request: Request) -> HttpResponse:
    """Seven days from a Monday on."""
    gate.require(request, Permission.VIEW_DIARY)
    asked = chosen_day(request)
    coach, on = chosen_coach(request), asked - timedelta(days=asked.weekday())
    context = agenda_context(request, coach, on, 7) | {
        "before": on - timedelta(days=7),
        "after": on + timedelta(days=7),
    }
    return render(request, "loop/days/week.html", context)


def chosen_coach(request: Request) -> Coach | None:
    """Whose days: a coach's own; a manager chooses, and begins with their own or the first."""
    if not request.user.is_manager:
        return request.user.coach
    coaches = Coach.objects.named().teaching()
    if key := parse_key(request.GET.get("coach", "")):
        return get_object_or_404(coaches, user__key=key)
    return request.user.coach if request.user.is_coach else coaches.first()


def chosen_day(request: Request) -> date:
    """The day in the address, or today."""
    today = request.academy.today(timezone.now())
    try:
        asked = date.fromisoformat(request.GET.get("day", ""))
    except ValueError:
        return today
    return asked if 2000 <= asked.year < 2100 else today


def agenda_context(request: Request, coach: Coach | None, first: date, count: int) -> dict[str, Any]:
    """The appointments and lessons of some days, day by day."""
    now = timezone.now()
    students = gate.get_students(request, Permission.SCHEDULE)
    days, reachable = days_of(coach, request.academy, first, count, students, now)
    return {
        "coach": coach,
        "on": first,
        "before": first - timedelta(days=count),
        "after": first + timedelta(days=count),
        "today": request.academy.today(now),
        "days": days,
        "reachable": reachable,
        "coaches": Coach.objects.named().teaching() if request.user.is_manager else [],
    }


def unfinished_logs(request: Request, coach: Coach | None, on: date) -> list[Lesson]:
    """Drafts of other days, the newest first: those of this day stand beside their appointment."""
    students = gate.get_students(request, Permission.SCHEDULE)
    drafts = Lesson.objects.filter(session__coach=coach, status=Lesson.Status.DRAFT, student__in=students)
    return [
        row
        for row in drafts.latest_first().select_related("student")
        if timezone.localdate(row.session.starts_at) != on
    ]
