"""The take-home sheet: on the phone, as PDF, and by a code to scan."""

import math
import uuid
from collections.abc import Iterator, Mapping
from dataclasses import asdict
from typing import Any

import segno
from django import forms
from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from coachbook import pdf
from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Student
from coachbook.forms import render_form
from coachbook.http import Request
from coachbook.loop.models import Sheet
from coachbook.loop.sheets.content import SheetContent, Ticks, content_from, weeks_left, weeks_of
from coachbook.loop.sheets.issue import find_shared, share_token, shared_until, void_sheet
from coachbook.loop.sheets.ticks import ticks_of
from coachbook.loop.stills.beside.focuses import DrawnPair, drawn_pairs
from coachbook.loop.stills.beside.gather import Source, in_the_document, small_address

# The layouts of a sheet, and how many letters most likely fill a page of A4, so that the first try nearly always fits.
LAYOUTS = {
    "large": 1850,
    "usual": 2650,
    "dense roomy": 3070,
    "dense": 3800,
    "dense denser": 5000,
    "dense denser bare": math.inf,
}
DRAWING, PAIR = 250, 330  # a drawing, and a pair of stills, take as much room as so many letters
CHILD_LAYOUTS = ("child", "child tight trim", "child tight snug")  # a child's sheet is never smaller than large print
UNPICTURED = "child tight snug unpictured"  # the pair of stills is left to the phone
SPARE = {"A4": 1.0, "Letter": 1.1, "browser": 1.25}  # a Letter is shorter, and a browser cannot try twice
CSS = settings.BASE_DIR / "static" / "css" / "sheet.css"
Pairs = Mapping[int, DrawnPair]  # by the number of the focus
PRIVATE = {"Cache-Control": "no-store", "X-Robots-Tag": "noindex", "Referrer-Policy": "no-referrer"}


class WithdrawForm(forms.Form):
    """Why a sheet is withdrawn."""

    reason = forms.CharField(
        max_length=120,
        label="Why you withdraw it",
        help_text="Only coaches read this.",
        error_messages={"required": "Say why, in a few words."},
    )


@require_GET
def sheet(request: Request, key: uuid.UUID, sheet_key: uuid.UUID) -> HttpResponse:
    """A sheet as it was issued; for the student's coaches also the code to scan and the form to withdraw it."""
    student = gate.get_student(request, Permission.READ_RECORD, key)
    return render_sheet(request, student, get_sheet_or_404(student, sheet_key), WithdrawForm())


@require_GET
def sheet_pdf(request: Request, key: uuid.UUID, sheet_key: uuid.UUID) -> HttpResponse:
    """The same on one page of the academy's paper."""
    student = gate.get_student(request, Permission.READ_RECORD, key)
    sheet = get_sheet_or_404(student, sheet_key)
    if is_hidden(sheet, student):
        return render_withdrawn(request, student, sheet)
    if problem := pdf.problem():
        return render_no_pdf(request, student, sheet, problem)
    content = content_from(sheet.content)
    pairs = readable_pairs(request, student, content, in_the_document)
    name = f'inline; filename="practice-sheet-{content.day}.pdf"'
    written = pdf_of(content, request.academy.paper, sheet, pairs)
    headers = {"Content-Disposition": name, "Cache-Control": "no-store"}
    return HttpResponse(written, content_type="application/pdf", headers=headers)


@require_POST
def sheet_void(request: Request, key: uuid.UUID, sheet_key: uuid.UUID) -> HttpResponse:
    """Withdraw a sheet, giving a reason."""
    student = gate.get_student(request, Permission.LOG_LESSONS, key)
    sheet, form = get_sheet_or_404(student, sheet_key), WithdrawForm(request.POST)
    if not form.is_valid():
        return render_sheet(request, student, sheet, form)
    void_sheet(sheet=sheet, reason=form.cleaned_data["reason"], at=timezone.now())
    messages.success(request, "Withdrawn. Its link no longer opens. If it was printed, ask for the paper.")
    return redirect("sheet", key=key, sheet_key=sheet_key)


@login_not_required
@require_GET
def shared_sheet(request: HttpRequest, token: str) -> HttpResponse:
    """A sheet for whoever scanned its code: read only, with the first name only, until the link ends."""
    sheet, is_open = find_shared(token, timezone.now())
    if sheet and is_open:
        content = content_from(sheet.content)
        response = render(request, "loop/sheets/shared.html", sheet_context(content, content.first_name))
    else:
        response = render(request, "loop/sheets/withdrawn.html", status=410 if sheet else 404)
    for name, value in PRIVATE.items():
        response.headers[name] = value
    return response


def get_sheet_or_404(student: Student, sheet_key: uuid.UUID) -> Sheet:
    """The student's sheet at this address."""
    return get_object_or_404(Sheet.objects.of(student).select_related("lesson"), key=sheet_key)


def is_hidden(sheet: Sheet, student: Student) -> bool:
    """Whether the sheet is void and this person may not read void sheets."""
    return sheet.voided_at is not None and not gate.is_allowed(student, Permission.READ_NOTES)


def render_sheet(request: Request, student: Student, sheet: Sheet, form: WithdrawForm) -> HttpResponse:
    """The sheet's page."""
    if is_hidden(sheet, student):
        return render_withdrawn(request, student, sheet)
    content = content_from(sheet.content)
    ticks = ticks_of(content, sheet.lesson, request.academy.units)
    pairs = readable_pairs(request, student, content, small_address)
    context = sheet_context(content, content.student, ticks, pairs) | {
        "on": request.academy.today(timezone.now()),
        "student": student,
        "sheet": sheet,
        "reads_log": gate.is_allowed(student, Permission.READ_NOTES),
        "practises": gate.is_allowed(student, Permission.REPORT_PRACTICE),
    }
    if gate.is_allowed(student, Permission.LOG_LESSONS) and sheet.voided_at is None:
        context |= share_context(request, sheet)
    return render_form(request, "loop/sheets/sheet.html", form, context)


def render_withdrawn(request: Request, student: Student, sheet: Sheet) -> HttpResponse:
    """The page of a withdrawn sheet as the student sees it, with a link to the newer one if there is one."""
    newer = sheet.lesson.sheets.valid().first()
    return render(request, "loop/sheets/withdrawn.html", {"student": student, "newer": newer}, status=410)


def render_no_pdf(request: Request, student: Student, sheet: Sheet, problem: str) -> HttpResponse:
    """The page for a machine that cannot make PDF."""
    context = {"student": student, "sheet": sheet, "problem": problem}
    return render(request, "loop/sheets/no_pdf.html", context, status=503)


def readable_pairs(request: Request, student: Student, content: SheetContent, source: Source) -> Pairs:
    """The pairs of stills that may be shown today."""
    return drawn_pairs(content, student, request.academy, request.academy.today(timezone.now()), source)


def sheet_context(
    content: SheetContent, name: str, ticks: Ticks | None = None, pairs: Pairs | None = None
) -> dict[str, Any]:
    """The context of the sheet itself; boxes are ticked only for those who may read what was reported.

    `pairs` holds the stills that may be shown; None where nobody is signed in who may see any.
    """
    return {
        "content": content,
        "name": name,
        "weeks": weeks_of(content, ticks),
        "weeks_left": weeks_left(content),
        "fit": layouts_for(content, "browser")[0],
        "pairs": pairs,
    }


def share_context(request: Request, sheet: Sheet) -> dict[str, Any]:
    """The link for the student's phone, as text and as a code to scan."""
    link = request.build_absolute_uri(reverse("shared_sheet", args=[share_token(sheet)]))
    code = segno.make(link, error="m", micro=False).svg_data_uri(dark="#000", light="#fff", border=4)
    return {"link": link, "code": code, "until": shared_until(sheet)}


def layouts_for(content: SheetContent, paper: str) -> list[str]:
    """The layouts to try, from the largest that is likely to fit on one page."""
    if content.child:
        layouts = [*CHILD_LAYOUTS, UNPICTURED] if content.pairs else CHILD_LAYOUTS
        return list(layouts[-1:] if paper == "browser" else layouts)
    pictures = DRAWING * sum(drill.drawing is not None for drill in content.drills) + PAIR * content.pairs
    letters = count_letters(asdict(content)) + pictures
    return [fit for fit, most in LAYOUTS.items() if SPARE[paper] * letters <= most]


def count_letters(words: Any) -> int:
    """How many letters there are in a nested structure of text, but for drawings."""
    if isinstance(words, str):
        return len(words)
    if isinstance(words, dict):
        words = tuple(part for name, part in words.items() if name not in ("drawing", "pair"))
    parts = words if isinstance(words, tuple) else ()
    return sum(map(count_letters, parts))


def pdf_of(content: SheetContent, paper: str, sheet: Sheet | None = None, pairs: Pairs | None = None) -> bytes:
    """The sheet as PDF: on one page in the largest print that fits, else on two, with a note that there are two."""
    return pdf.write_pdf(layouts(content, paper, sheet, pairs))


def layouts(content: SheetContent, paper: str, sheet: Sheet | None, pairs: Pairs | None = None) -> Iterator[str]:
    """The sheet as HTML in one layout after the other; the last notes that there is a second page."""
    for fit in layouts_for(content, paper):
        yield print_html(content, paper, sheet=sheet, fit=fit, pairs=pairs)
    yield print_html(content, paper, sheet=sheet, fit=fit, pairs=pairs, runs_over=True)


def print_html(content: SheetContent, paper: str, **context: Any) -> str:
    """The sheet as one HTML document with its own style, for the academy's paper."""
    css = pdf.style_link(CSS.read_text(), paper)
    words = sheet_context(content, content.student) | {"fit": layouts_for(content, paper)[0], "css": css}
    return render_to_string("loop/sheets/print.html", words | context)
