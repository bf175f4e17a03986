"""The months of a student, each as a page of days and as one page of PDF, for them and their guardians."""

import uuid
from collections.abc import Iterator
from datetime import date

from django.conf import settings
from django.http import HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.utils import timezone
from django.views.decorators.http import require_GET

from coachbook import pdf
from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Student
from coachbook.http import Request
from coachbook.loop.months.days import days_of
from coachbook.loop.months.gather import months_of, parse_month, report_of
from coachbook.loop.months.report import MonthReport, cut

CSS = settings.BASE_DIR / "static" / "css" / "month.css"
LAYOUTS = ("roomy", "usual", "dense")
CHILD_LAYOUTS = ("child", *LAYOUTS)


@require_GET
def months(request: Request, key: uuid.UUID) -> HttpResponse:
    """Every month of which there is something to say."""
    student = gate.get_student(request, Permission.READ_RECORD, key)
    return render_months(request, student)


@require_GET
def month(request: Request, key: uuid.UUID, month: str) -> HttpResponse:
    """One month as a page of days."""
    student = gate.get_student(request, Permission.READ_RECORD, key)
    first, problem = find_month(month, request.academy.today(timezone.now()))
    if first is None:
        return render_months(request, student, problem)
    known = [each.first for each in months_of(student, request.academy)]
    context = {
        "student": student,
        "first": first,
        "month": days_of(student, first, request.academy),
        "before": max((each for each in known if each < first), default=None),
        "after": min((each for each in known if each > first), default=None),
    }
    return render(request, "loop/months/month.html", context)


@require_GET
def month_pdf(request: Request, key: uuid.UUID, month: str) -> HttpResponse:
    """One month on one page of the academy's paper, in the words that the student reads."""
    student = gate.get_student(request, Permission.READ_RECORD, key)
    today = request.academy.today(timezone.now())
    first, problem = find_month(month, today)
    if first is None:
        return render_months(request, student, problem)
    if problem := pdf.problem():
        return render(request, "loop/months/no_pdf.html", {"student": student, "problem": problem}, status=503)
    report = report_of(student, first, request.academy, today)
    written = pdf.write_pdf(layouts(report, request.academy.paper))
    headers = {"Content-Disposition": f'inline; filename="month-{first}.pdf"', "Cache-Control": "no-store"}
    return HttpResponse(written, content_type="application/pdf", headers=headers)


def find_month(text: str, today: date) -> tuple[date | None, str]:
    """The first day of a month that has begun, or None and why there is none."""
    first = parse_month(text)
    if first is None:
        return None, "There is no such month. Choose one of these."
    if first > today:
        return None, f"{first:%B %Y} has not begun. Choose one of these."
    return first, ""


def render_months(request: Request, student: Student, problem: str = "") -> HttpResponse:
    """The list of months; 404 with the reason where one was asked for that cannot be shown."""
    context = {"student": student, "months": months_of(student, request.academy), "problem": problem}
    return render(request, "loop/months/months.html", context, status=404 if problem else 200)


def layouts(report: MonthReport, paper: str) -> Iterator[str]:
    """The page as HTML, ever more densely; the last cuts long words, so that it is one page in any case."""
    css = pdf.style_link(CSS.read_text(), paper)
    for fit in CHILD_LAYOUTS if report.child else LAYOUTS:
        yield render_to_string("loop/months/print.html", {"report": report, "fit": fit, "css": css})
    yield render_to_string("loop/months/print.html", {"report": cut(report), "fit": "dense", "css": css})
