"""The ticked paper sheet, typed in at once: a page of days and drills for a month."""

import uuid

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Student
from coachbook.http import Request
from drills.practice.paper_days.gather import Month, fill_in, month_of, months_open, read_tick
from drills.practice.views import academy_today, source_of

WRONG = "One of the boxes is no day of these drills any more. Nothing was saved. Look at the boxes and send them again."


@require_http_methods(["GET", "HEAD", "POST"])
def practice_month(request: Request, key: uuid.UUID, year: int, month_of_year: int) -> HttpResponse:
    """The boxes of a month; what is ticked is reported as the whole dose, all of it or nothing."""
    student = gate.get_student(request, Permission.REPORT_PRACTICE, key)
    on = academy_today(request)
    first = next((day for day in months_open(on) if (day.year, day.month) == (year, month_of_year)), None)
    if first is None:
        raise Http404
    page = month_of(student, first, on)
    if request.method != "POST":
        return render_month(request, student, page, [])
    typed = request.POST.getlist("ticked")
    ticks = {tick for value in typed if (tick := read_tick(value))}
    if len(ticks) < len(set(typed)) or not ticks <= page.open.keys():
        return render_month(request, student, page, typed, WRONG)
    if not ticks:
        return render_month(request, student, page, typed, "Tick at least one box.")
    stored = fill_in(ticks=ticks, month=page, source=source_of(student))
    messages.success(request, filled_in_words(stored, len(ticks) - stored))
    return redirect("practice_month", key=student.key, year=year, month_of_year=month_of_year)


def filled_in_words(stored: int, kept: int) -> str:
    """How many were stored, and how many were there already."""
    words = f"Filled in: {stored} {'practice' if stored == 1 else 'practices'}."
    if kept:
        words += f" {kept} {'was' if kept == 1 else 'were'} reported already and stay as they are."
    return words


def render_month(request: Request, student: Student, page: Month, ticked: list[str], problem: str = "") -> HttpResponse:
    """The page; with a problem, status 422 and every tick still there."""
    other = next(day for day in months_open(page.on) if day != page.first)
    context = {"student": student, "month": page, "other": other, "problem": problem}
    context["calendars"] = page.calendars(set(ticked))
    return render(request, "drills/practice/month.html", context, status=422 if problem else 200)
