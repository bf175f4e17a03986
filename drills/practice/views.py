"""A student's drills for today, and reports of practice."""

import uuid
from datetime import date
from typing import Any

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.views.decorators.http import require_GET, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Student
from coachbook.accounts.relationships import Relationship
from coachbook.http import Request
from drills.models import PracticeEntry, Prescription
from drills.practice.doses import format_amount
from drills.practice.forms import PracticeForm
from drills.practice.reports import REPORT_PERIOD, DrillDay, drill_days, report_practice, reportable


@require_GET
def today(request: Request, key: uuid.UUID) -> HttpResponse:
    """The drills of today, each with one tap to report it."""
    student = gate.get_student(request, Permission.READ_RECORD, key)
    return render_today(request, student)


@require_POST
def practice_report(
    request: Request, key: uuid.UUID, prescription_key: uuid.UUID, entry_key: uuid.UUID
) -> HttpResponse:
    """Report practice, once: the entry's key is in the address, so that a double tap stores one row."""
    student = gate.get_student(request, Permission.REPORT_PRACTICE, key)
    on = academy_today(request)
    prescription = get_object_or_404(reportable(student, on), key=prescription_key)
    stored = gate.own_or_new(prescription.entries.all(), entry_key)
    form = PracticeForm(request.POST, prescription=prescription, on=on, stored=stored)
    if not form.is_valid():
        return (render_card if request.htmx else render_today)(request, student, form)
    source = (
        PracticeEntry.Source.STUDENT
        if Relationship.SELF in gate.relationships_of(student)
        else PracticeEntry.Source.GUARDIAN
    )
    entry, is_new = report_practice(prescription=prescription, key=entry_key, source=source, **form.cleaned_data)
    return confirm_report(request, student, prescription, entry, status=201 if is_new else 200)


@require_POST
def practice_void(request: Request, key: uuid.UUID, prescription_key: uuid.UUID, entry_key: uuid.UUID) -> HttpResponse:
    """Undo a report of the last two weeks; a second time changes nothing."""
    student = gate.get_student(request, Permission.REPORT_PRACTICE, key)
    on = academy_today(request)
    prescription = get_object_or_404(reportable(student, on), key=prescription_key)
    entry = get_object_or_404(prescription.entries.filter(day__gte=on - REPORT_PERIOD), key=entry_key)
    if not entry.is_void:
        entry.is_void = True
        entry.save(update_fields=["is_void"])
    return confirm_report(request, student, prescription, entry)


def academy_today(request: Request) -> date:
    """Today, at the academy."""
    return request.academy.today(timezone.now())


def confirm_report(
    request: Request, student: Student, prescription: Prescription, entry: PracticeEntry, status: int = 200
) -> HttpResponse:
    """The drill's card with a confirmation, or, without a script, a redirect to the page."""
    on = academy_today(request)
    words = report_words(entry, prescription.unit, on)
    if request.htmx:
        return render_card(request, student, PracticeForm(prescription=prescription, on=on), words, status)
    messages.success(request, words)
    return HttpResponseRedirect(reverse("today", args=[student.key]), status=303)


def report_words(entry: PracticeEntry, unit: str, on: date) -> str:
    """The confirmation of a report; one that is sent again after it was undone stays undone."""
    when = "today" if entry.day == on else date_format(entry.day, "l j F")
    return f"{'Undone' if entry.is_void else 'Reported'} for {when}: {format_amount(entry.amount, unit)}."


# --- Rendering ----------------------------------------------------------------------------------


def render_today(request: Request, student: Student, form: PracticeForm | None = None) -> HttpResponse:
    """The page of today; with an invalid form, status 422 and that form open."""
    on = academy_today(request)
    given = list(student.prescriptions.in_force(on))
    if form and form.prescription not in given:
        given.append(form.prescription)
    days = drill_days(given, on)
    cards = [card_context(day, form if form and form.prescription == day.prescription else None) for day in days]
    context = {**reader_context(request, student), "cards": cards, "form": form}
    return render(request, "drills/practice/today.html", context, status=422 if form else 200)


def render_card(
    request: Request, student: Student, form: PracticeForm, words: str = "", status: int = 422
) -> HttpResponse:
    """The card of one drill."""
    [day] = drill_days([form.prescription], form.on)
    context = {**reader_context(request, student), "card": card_context(day, form), "words": words}
    return render(request, "drills/practice/card.html", context, status=status)


def reader_context(request: Request, student: Student) -> dict[str, Any]:
    """The student, the day, and what the reader may do."""
    on = academy_today(request)
    return {
        "student": student,
        "on": on,
        "junior": student.is_known_junior(on, request.academy.adult_at),
        "may_report": gate.is_allowed(student, Permission.REPORT_PRACTICE),
    }


def card_context(day: DrillDay, form: PracticeForm | None = None) -> dict[str, Any]:
    """A drill on this day with its form, and a new key for each of the two ways to report."""
    form = form or PracticeForm(prescription=day.prescription, on=day.on)
    return {"day": day, "form": form, "done_key": uuid.uuid4(), "more_key": uuid.uuid4()}
