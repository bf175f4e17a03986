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
from coachbook.caseload.counts import RECENT_DAYS, StudentInCare
from coachbook.caseload.csv_file import caseload_csv
from coachbook.caseload.forms import DaysForm
from coachbook.caseload.gather import gather_caseload, lessons_of, students_by_coach
from coachbook.http import Request, parse_key
from lessons.models import Lesson


@require_GET
def caseload(request: Request) -> HttpResponse:
    """Every coach on one page: whom they have, what was done and where consent is missing."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    on, days = today(request), days_form(request)
    caseload = gather_caseload(request.academy, on, days.number)
    context = {"caseload": caseload, "on": on, "days": days, "form": days, "recent": RECENT_DAYS}
    return render(request, "caseload/caseload.html", context)


@require_GET
def coach_caseload(request: Request, coach: uuid.UUID) -> HttpResponse:
    """One coach's students, where consent is missing, the lessons of late and what was left unfinished."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    teacher = get_object_or_404(Coach.objects.select_related("user"), user__key=coach)
    on, days = today(request), days_form(request)
    students_in_care = students_by_coach(request.academy, on, teacher).get(teacher.pk, [])
    written = lessons_of(teacher, request.academy, on)
    context = {
        "coach": teacher,
        "on": on,
        "days": days,
        "recent": RECENT_DAYS,
        "lessons": [lesson for lesson in written if lesson.status == Lesson.Status.COMPLETE],
        "drafts": [lesson for lesson in written if lesson.status == Lesson.Status.DRAFT],
        **filtered(students_in_care, request.GET.get("show", ""), days.number),
    }
    return render(request, "caseload/coach.html", context)


@require_GET
def caseload_file(request: Request) -> HttpResponse:
    """Every coach's students as CSV, or those of one: `coach` in the address."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    on, key = today(request), request.GET.get("coach")
    coach = get_object_or_404(Coach, user__key=parse_key(key) or uuid.UUID(int=0)) if key else None
    students = students_by_coach(request.academy, on, coach)
    named = {pk: str(row) for pk, row in Coach.objects.named().in_bulk(students).items() if row.user.is_active or coach}
    by_coach = {name: students[pk] for pk, name in named.items()}
    shown = {student.student for rows in by_coach.values() for student in rows}
    gate.note_readings(request, gate.get_students(request).filter(pk__in=shown))
    response = HttpResponse(caseload_csv(by_coach), content_type="text/csv; charset=utf-8; header=present")
    response.headers["Content-Disposition"] = f'attachment; filename="caseload-{on}.csv"'
    return response


def filtered(students_in_care: list[StudentInCare], show: str, days: int) -> dict[str, object]:
    """The students to show, and how many there are to each choice."""
    lists = {
        "all": students_in_care,
        "overdue": [student_in_care for student_in_care in students_in_care if student_in_care.overdue],
        "unseen": [student_in_care for student_in_care in students_in_care if student_in_care.is_unseen(days)],
    }
    show = show if show in lists else "all"
    names = {"all": "All", "overdue": "With a review overdue", "unseen": f"Not seen for {days} days"}
    choices = [(name, names[name], len(found)) for name, found in lists.items()]
    return {"students_in_care": lists[show], "show": show, "choices": choices}


def today(request: Request) -> date:
    """The academy's date."""
    return request.academy.today(timezone.now())


def days_form(request: Request) -> DaysForm:
    """After how many days a student counts as not seen: as asked, or the academy's own rule."""
    return DaysForm(request.GET.get("days"), request.academy.not_seen_days)
