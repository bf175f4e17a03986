"""The manager's view over all coaches."""

import uuid
from datetime import date

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Coach
from coachbook.caseload.counts import RECENT_DAYS
from coachbook.caseload.csv_file import caseload_csv
from coachbook.caseload.forms import DaysForm
from coachbook.caseload.gather import gather_caseload, lessons_of, students_by_coach
from coachbook.caseload.listing import Listing, listed, listing_of
from coachbook.caseload.workload import workloads
from coachbook.http import Request, parse_key
from lessons.models import Lesson


@require_GET
def caseload(request: Request) -> HttpResponse:
    """Every coach on one page: whom they have, what was done, and the weeks behind and before them."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    on, days = today(request), days_form(request)
    caseload = gather_caseload(request.academy, on, days.number)
    weeks = workloads([row.coach for row in caseload.rows], request.academy, timezone.now())
    context = {
        "caseload": caseload,
        "rows": list(zip(caseload.rows, weeks, strict=True)),
        "weeks": weeks,
        "on": on,
        "days": days,
        "form": days,
        "recent": RECENT_DAYS,
    }
    return render(request, "caseload/caseload.html", context)


@require_GET
def coach_caseload(request: Request, coach: uuid.UUID) -> HttpResponse:
    """One coach's students, the lessons of late and what was left unfinished."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    teacher = get_object_or_404(Coach.objects.select_related("user"), user__key=coach)
    days = days_form(request)
    written = lessons_of(teacher, request.academy, today(request))
    context = {
        "coach": teacher,
        "on": today(request),
        "days": days,
        "recent": RECENT_DAYS,
        "lessons": [lesson for lesson in written if lesson.status == Lesson.Status.COMPLETE],
        "drafts": [lesson for lesson in written if lesson.status == Lesson.Status.DRAFT],
        "listing": asked_listing(request, teacher, days),
        "weeks": workloads([teacher], request.academy, timezone.now()),
    }
    return render(request, "caseload/coach.html", context)


@require_GET
def caseload_students(request: Request) -> HttpResponse:
    """The students of every coach, or of one: `coach` in the address."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    coach, days = asked_coach(request), days_form(request)
    context = {
        "coach": coach,
        "coaches": Coach.objects.named().teaching(),
        "on": today(request),
        "days": days,
        "listing": asked_listing(request, coach, days),
    }
    return render(request, "caseload/students.html", context)


@require_GET
def caseload_lessons(request: Request) -> HttpResponse:
    """The lessons of late that every coach held, or the logs that are not finished."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    is_draft = request.GET.get("show") == "drafts"
    status = Lesson.Status.DRAFT if is_draft else Lesson.Status.COMPLETE
    written = lessons_of(None, request.academy, today(request))
    context = {
        "lessons": [lesson for lesson in written if lesson.status == status],
        "is_draft": is_draft,
        "recent": RECENT_DAYS,
    }
    return render(request, "caseload/lessons.html", context)


@require_GET
def caseload_file(request: Request) -> HttpResponse:
    """The same list of students as CSV, with the same students in the same order."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    listing = asked_listing(request, asked_coach(request), days_form(request))
    response = HttpResponse(caseload_csv(listing.rows), content_type="text/csv; charset=utf-8; header=present")
    response.headers["Content-Disposition"] = f'attachment; filename="caseload-{today(request)}.csv"'
    return response


def asked_coach(request: Request) -> Coach | None:
    """The coach whose key stands in the address, or None for all; 404 where nobody has it."""
    key = request.GET.get("coach")
    return get_object_or_404(Coach.objects.named(), user__key=parse_key(key) or uuid.UUID(int=0)) if key else None


def asked_listing(request: Request, coach: Coach | None, days: DaysForm) -> Listing:
    """The list that the address asks for, of one coach or of all whose account is open; the reading is noted."""
    students = students_by_coach(request.academy, today(request), coach)
    coaches = [coach] if coach else Coach.objects.named().teaching()
    rows = listed((str(each), students.get(each.pk, [])) for each in coaches)
    kept = {"coach": request.GET.get("coach", ""), "days": str(days.number) if days.is_valid() else ""}
    listing = listing_of(rows, request.GET.dict(), days.number, kept)
    shown = [row.student.student for row in listing.rows]
    gate.note_readings(request, gate.get_students(request).filter(pk__in=shown))
    return listing


def today(request: Request) -> date:
    """The academy's date."""
    return request.academy.today(timezone.now())


def days_form(request: Request) -> DaysForm:
    """After how many days a student counts as not seen: as asked, or the academy's own rule."""
    return DaysForm(request.GET.get("days"), request.academy.not_seen_days)
