"""The take-home sheet: on the phone, on paper, and behind a code to scan."""

import base64
import math
import uuid
from collections.abc import Iterator
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
from coachbook.accounts.gate import Act
from coachbook.accounts.models import Student
from coachbook.forms import render_form
from coachbook.http import Request
from coachbook.loop.models import Sheet
from coachbook.loop.sheets.content import (
    SheetContent,
    content_from,
    share_token,
    shared,
    shared_until,
    void_sheet,
    weeks_left,
    weeks_of,
)
from lessons.models import Lesson

# How a sheet may be set, and how many letters most likely fill a page of A4: so one layout is nearly always enough.
FITS = {"large": 1850, "usual": 2750, "dense": 3800, "dense denser": math.inf}
CHILD_FITS = ("child", "child trim", "child snug")  # a child's sheet holds few words: large print nearly always does
SPARE = {"A4": 1.0, "Letter": 1.1, "browser": 1.25}  # a Letter is shorter, and a browser cannot try twice
CSS = settings.BASE_DIR / "static" / "css" / "sheet.css"
PRIVATE = {"Cache-Control": "no-store", "X-Robots-Tag": "noindex", "Referrer-Policy": "no-referrer"}


class TakeBackForm(forms.Form):
    """Why a sheet is taken back."""

    reason = forms.CharField(
        max_length=120,
        label="Why it is taken back",
        help_text="Only coaches read this.",
        error_messages={"required": "Say why, in a few words."},
    )


@require_GET
def sheet(request: Request, key: uuid.UUID, sheet_key: uuid.UUID) -> HttpResponse:
    """A sheet as it was issued; for those who teach also the code to scan and the way to take it back."""
    student = gate.student(request, Act.READ, key)
    return page(request, student, find(student, sheet_key), TakeBackForm())


@require_GET
def sheet_pdf(request: Request, key: uuid.UUID, sheet_key: uuid.UUID) -> HttpResponse:
    """The same on one page of the academy's paper."""
    student = gate.student(request, Act.READ, key)
    sheet = find(student, sheet_key)
    if is_hidden(sheet, student):
        return gone(request, student, sheet)
    if problem := pdf.problem():
        return no_pdf(request, student, sheet, problem)
    content = content_from(sheet.content)
    name = f'inline; filename="practice-sheet-{content.day}.pdf"'
    written = pdf_of(content, request.academy.paper, sheet)
    headers = {"Content-Disposition": name, "Cache-Control": "no-store"}
    return HttpResponse(written, content_type="application/pdf", headers=headers)


@require_POST
def sheet_void(request: Request, key: uuid.UUID, sheet_key: uuid.UUID) -> HttpResponse:
    """Take a sheet back, saying why."""
    student = gate.student(request, Act.TEACH, key)
    sheet, form = find(student, sheet_key), TakeBackForm(request.POST)
    if not form.is_valid():
        return page(request, student, sheet, form)
    void_sheet(sheet=sheet, reason=form.cleaned_data["reason"], at=timezone.now())
    messages.success(request, "Taken back. Its link no longer opens; a copy on paper you have to ask for.")
    return redirect("sheet", key=key, sheet_key=sheet_key)


@login_not_required
@require_GET
def shared_sheet(request: HttpRequest, token: str) -> HttpResponse:
    """A sheet for whoever scanned its code: to read only, under the first name, for as long as the dose matters."""
    sheet, is_open = shared(token, timezone.now())
    if sheet and is_open:
        content = content_from(sheet.content)
        response = render(request, "loop/sheets/shared.html", words_of(content, content.first_name))
    else:
        response = render(request, "loop/sheets/gone.html", status=410 if sheet else 404)
    for name, value in PRIVATE.items():
        response.headers[name] = value
    return response


def find(student: Student, sheet_key: uuid.UUID) -> Sheet:
    """The student's sheet at this address."""
    done = Sheet.objects.filter(lesson__student=student, lesson__status=Lesson.Status.COMPLETE)
    return get_object_or_404(done.select_related("lesson"), key=sheet_key)


def is_hidden(sheet: Sheet, student: Student) -> bool:
    """Whether the sheet was taken back, and this person is none of those who may still read it."""
    return sheet.voided_at is not None and not gate.may(student, Act.NOTES)


def page(request: Request, student: Student, sheet: Sheet, form: TakeBackForm) -> HttpResponse:
    """The sheet's page."""
    if is_hidden(sheet, student):
        return gone(request, student, sheet)
    content = content_from(sheet.content)
    context = words_of(content, content.student) | {
        "student": student,
        "sheet": sheet,
        "reads_log": gate.may(student, Act.NOTES),
        "practises": gate.may(student, Act.PRACTISE),
    }
    if gate.may(student, Act.TEACH) and sheet.voided_at is None:
        context |= share_of(request, sheet)
    return render_form(request, "loop/sheets/sheet.html", form, context)


def gone(request: Request, student: Student, sheet: Sheet) -> HttpResponse:
    """What a student reads where a sheet was taken back, and the way to the one that took its place."""
    newer = sheet.lesson.sheets.standing().first()
    return render(request, "loop/sheets/gone.html", {"student": student, "newer": newer}, status=410)


def no_pdf(request: Request, student: Student, sheet: Sheet, problem: str) -> HttpResponse:
    """What to do on a machine that makes no PDF."""
    context = {"student": student, "sheet": sheet, "problem": problem}
    return render(request, "loop/sheets/no_pdf.html", context, status=503)


def words_of(content: SheetContent, name: str) -> dict[str, Any]:
    """What the sheet itself is drawn from."""
    return {
        "content": content,
        "name": name,
        "weeks": weeks_of(content),
        "weeks_left": weeks_left(content),
        "fit": fits(content, "browser")[0],
    }


def share_of(request: Request, sheet: Sheet) -> dict[str, Any]:
    """The link for the student's phone, as words and as a code to scan."""
    link = request.build_absolute_uri(reverse("shared_sheet", args=[share_token(sheet)]))
    code = segno.make(link, error="m", micro=False).svg_data_uri(dark="#000", light="#fff", border=4)
    return {"link": link, "code": code, "until": shared_until(sheet)}


def fits(content: SheetContent, paper: str) -> list[str]:
    """How the sheet may be set, from the largest that most likely fits on."""
    if content.child:
        return list(CHILD_FITS)
    return [fit for fit, most in FITS.items() if SPARE[paper] * letters(asdict(content)) <= most]


def letters(words: Any) -> int:
    """How many letters there are in this, however deep they lie."""
    if isinstance(words, str):
        return len(words)
    parts = words.values() if isinstance(words, dict) else words if isinstance(words, tuple) else ()
    return sum(map(letters, parts))


def pdf_of(content: SheetContent, paper: str, sheet: Sheet | None = None) -> bytes:
    """The sheet as PDF: on one page in the largest print that fits, else on two, and it says so."""
    return pdf.write_pdf(drafts(content, paper, sheet))


def drafts(content: SheetContent, paper: str, sheet: Sheet | None) -> Iterator[str]:
    """The printed sheet, ever denser; the last one says that it has a second page."""
    for fit in fits(content, paper):
        yield print_html(content, paper, sheet=sheet, fit=fit)
    yield print_html(content, paper, sheet=sheet, fit=fit, runs_over=True)


def print_html(content: SheetContent, paper: str, **context: Any) -> str:
    """The sheet as one document that holds its own looks, for the academy's paper."""
    look = f"{CSS.read_text()} @page {{ size: {paper} }}"
    css = f"data:text/css;base64,{base64.b64encode(look.encode()).decode()}"
    words = words_of(content, content.student) | {"fit": fits(content, paper)[0], "css": css}
    return render_to_string("loop/sheets/print.html", words | context)
