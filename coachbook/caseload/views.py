"""The manager's view over all coaches."""

import uuid
from datetime import date

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.formats import date_format
from django.views.decorators.http import require_GET, require_http_methods

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Coach, Student
from coachbook.caseload.care.assignments import main_cares, move_student
from coachbook.caseload.counts import RECENT_DAYS, StudentInCare
from coachbook.caseload.csv_file import caseload_csv
from coachbook.caseload.forms import DaysForm, MoveForm
from coachbook.caseload.gather import gather_caseload, lessons_of, students_by_coach
from coachbook.forms import render_form
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


@require_http_methods(["GET", "POST"])
def student_move(request: Request, key: uuid.UUID) -> HttpResponse:
    """Give a student another main coach, from a day on."""
    student = gate.get_student(request, Permission.MANAGE_ACADEMY, key)
    on = today(request)
    cares, asked = list(main_cares(student, on)), request.GET.get("from", "")
    coach = next((care.coach for care in cares if asked in ("", str(care.coach.user.key))), None)
    form = MoveForm(request.POST if request.method == "POST" else None, cares=cares, today=on, taken_from=asked)
    if form.is_valid():
        move_student(student=student, by=request.user, **form.move)
        messages.success(request, moved_words(student, form.move["to"], form.move["since"], on))
        return redirect("coach_caseload", coach.user.key) if coach else redirect("caseload")
    return render_form(request, "caseload/care/move.html", form, {"student": student, "cares": cares, "coach": coach})


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


def moved_words(student: Student, to: Coach, since: date, on: date) -> str:
    """What a move comes to."""
    day = "today" if since == on else date_format(since, "j F Y")
    return f"{student} is with {to} from {day} on."


def today(request: Request) -> date:
    """The academy's date."""
    return request.academy.today(timezone.now())


def days_form(request: Request) -> DaysForm:
    """After how many days a student counts as not seen: as asked, or the academy's own rule."""
    return DaysForm(request.GET.get("days"), request.academy.not_seen_days)
