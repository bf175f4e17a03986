"""The take-home sheet: on the phone, on paper, and behind a code to scan."""

import logging
import re
import uuid
from collections.abc import Iterator
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
from coachbook.loop.sheet import (
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

FITS = ("large", "usual", "dense", "denser")
PRIVATE = {"Cache-Control": "no-store", "X-Robots-Tag": "noindex", "Referrer-Policy": "no-referrer"}
TOKEN = re.compile(r"(/sheet/)[^/\s]+")


class TakeBackForm(forms.Form):
    """Why a sheet is taken back."""

    reason = forms.CharField(max_length=120, label="Why it is taken back", help_text="Only coaches read this.")


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
        return gone(request, student)
    if problem := pdf.problem():
        return render(request, "loop/sheet_no_pdf.html", {"student": student, "sheet": sheet, "problem": problem}, status=503)
    content = content_from(sheet.content)
    name = f"practice-sheet-{content.day}.pdf"
    written = pdf.write_pdf(drafts(content, sheet), paper_css(request.academy.paper))
    headers = {"Content-Disposition": f'inline; filename="{name}"', "Cache-Control": "no-store"}
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
        response = render(request, "loop/sheet_shared.html", words_of(content, content.first_name))
    else:
        response = render(request, "loop/sheet_gone.html", status=410 if sheet else 404)
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
        return gone(request, student)
    content = content_from(sheet.content)
    context = words_of(content, content.student) | {
        "student": student,
        "sheet": sheet,
        "reads_log": gate.may(student, Act.NOTES),
        "practises": gate.may(student, Act.PRACTISE),
    }
    if gate.may(student, Act.TEACH) and sheet.voided_at is None:
        context |= share_of(request, sheet)
    return render_form(request, "loop/sheet.html", form, context)


def gone(request: Request, student: Student) -> HttpResponse:
    """What a student reads where a sheet was taken back."""
    return render(request, "loop/sheet_gone.html", {"student": student}, status=410)


def words_of(content: SheetContent, name: str) -> dict[str, Any]:
    """What the sheet itself is drawn from."""
    return {
        "content": content,
        "name": name,
        "weeks": weeks_of(content),
        "weeks_left": weeks_left(content),
        "fit": FITS[first_fit(content)],
    }


def share_of(request: Request, sheet: Sheet) -> dict[str, Any]:
    """The link for the student's phone, as words and as a code to scan."""
    link = request.build_absolute_uri(reverse("shared_sheet", args=[share_token(sheet)]))
    code = segno.make(link, error="m", micro=False).svg_data_uri(dark="#000", light="#fff", border=4)
    return {"link": link, "code": code, "until": shared_until(sheet)}


def first_fit(content: SheetContent) -> int:
    """With which of FITS it most likely fills a page: an estimate from its words, so that one layout is enough."""
    return 1


def drafts(content: SheetContent, sheet: Sheet) -> Iterator[str]:
    """The printed sheet, ever denser; the last one says that it has a second page."""
    context = words_of(content, content.student) | {"sheet": sheet}
    for fit in FITS[first_fit(content) :]:
        yield render_to_string("loop/sheet_print.html", context | {"fit": fit})
    yield render_to_string("loop/sheet_print.html", context | {"fit": FITS[-1], "runs_over": True})


def paper_css(paper: str) -> str:
    """How the sheet looks, on the academy's paper."""
    return (settings.BASE_DIR / "static" / "css" / "sheet.css").read_text() + f"@page {{ size: {paper} }}"


def without_token(record: logging.LogRecord) -> bool:
    """Take the token of a shared sheet out of what is logged of a request: it is as good as a key."""
    if isinstance(record.args, tuple):
        record.args = tuple(TOKEN.sub(r"\1…", word) if isinstance(word, str) else word for word in record.args)
    return True


for name in ("django.request", "django.server"):
    logging.getLogger(name).addFilter(without_token)
