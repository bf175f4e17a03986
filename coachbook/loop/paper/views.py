"""The paper log: a page to print before a lesson and to write on by hand, for one student or for anybody."""

import uuid
from collections.abc import Iterator
from urllib.parse import urlencode

from django.conf import settings
from django.http import HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET

from coachbook import pdf
from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Area, Student
from coachbook.http import Request
from coachbook.loop.paper.gather import PaperLog, blank_paper_log, paper_log_of

CSS = settings.BASE_DIR / "static" / "css" / "paper.css"
# The layouts, and how many skills most likely fit on one page in each; in the densest the print is 7.2 pt.
LAYOUTS = {"roomy": 23, "usual": 38, "dense": 56}
MOST_SKILLS = (100, 60, 30)  # tried in turn in the densest layout: it is one page for everybody


@require_GET
def paper_log(request: Request, key: uuid.UUID) -> HttpResponse:
    """The page of a student's next lesson, to be printed by the browser."""
    student = gate.get_student(request, Permission.READ_NOTES, key)
    log = log_of(request, student)
    return render_paper(request, log, reverse("paper_log_pdf", args=[key]), {"student": student})


@require_GET
def paper_log_pdf(request: Request, key: uuid.UUID) -> HttpResponse:
    """The same on one page of the academy's paper."""
    student = gate.get_student(request, Permission.READ_NOTES, key)
    log = log_of(request, student)
    return render_pdf(request, log, reverse("paper_log", args=[key]))


@require_GET
def paper_log_blank(request: Request) -> HttpResponse:
    """The page of a lesson with anybody: name and day are written by hand."""
    gate.require(request, Permission.VIEW_DIARY)
    return render_paper(request, blank_log(request), reverse("paper_log_blank_pdf"), {})


@require_GET
def paper_log_blank_pdf(request: Request) -> HttpResponse:
    """The same on one page of the academy's paper."""
    gate.require(request, Permission.VIEW_DIARY)
    return render_pdf(request, blank_log(request), reverse("paper_log_blank"))


def log_of(request: Request, student: Student) -> PaperLog:
    """What is printed for a student, with the areas that were chosen in the address."""
    coach, areas = printed_by(request), chosen_areas(request)
    return paper_log_of(student, coach=coach, areas=areas, academy=request.academy, at=timezone.now())


def blank_log(request: Request) -> PaperLog:
    """What is printed for anybody, with the areas that were chosen in the address."""
    return blank_paper_log(coach=printed_by(request), areas=chosen_areas(request))


def printed_by(request: Request) -> str:
    """The coach who prints it; a manager who does not teach leaves the name empty."""
    return request.user.name if request.user.is_coach else ""


def chosen_areas(request: Request) -> list[Area]:
    """The areas in the address."""
    chosen = request.GET.getlist("area")
    return [area for area in Area if area in chosen]


def render_paper(request: Request, log: PaperLog, pdf_page: str, context: dict[str, object]) -> HttpResponse:
    """The page with its choice of areas, and the way to the PDF of the same."""
    chosen = urlencode([("area", area.value) for area, ticked in log.areas if ticked])
    fit, shown = next(layouts_for(log))
    context |= {"log": shown, "fit": fit, "pdf_page": f"{pdf_page}?{chosen}" if chosen else pdf_page}
    return render(request, "loop/paper/paper_log.html", context)


def render_pdf(request: Request, log: PaperLog, page: str) -> HttpResponse:
    """The log as a PDF of one page; or what to do on a machine that cannot make one."""
    if problem := pdf.problem():
        return render(request, "loop/paper/no_pdf.html", {"problem": problem, "page": page}, status=503)
    headers = {"Content-Disposition": 'inline; filename="paper-log.pdf"', "Cache-Control": "no-store"}
    written = pdf.write_pdf(drafts_of(log, request.academy.paper))
    return HttpResponse(written, content_type="application/pdf", headers=headers)


def layouts_for(log: PaperLog) -> Iterator[tuple[str, PaperLog]]:
    """The layouts to try, from the largest that is likely to fit on one page; the last ones leave skills out."""
    for fit, most in LAYOUTS.items():
        if log.skill_count + log.extra <= most:
            yield fit, log
    for most in MOST_SKILLS:
        if most == MOST_SKILLS[-1] or most + log.extra <= MOST_SKILLS[0]:
            yield "densest", log.with_at_most(most)


def drafts_of(log: PaperLog, paper: str) -> Iterator[str]:
    """The log as HTML in one layout after the other."""
    css = pdf.style_link(CSS.read_text(), paper)
    for fit, shown in layouts_for(log):
        yield render_to_string("loop/paper/print.html", {"log": shown, "fit": fit, "css": css})
