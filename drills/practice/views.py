"""The student's day: today's drills, and what was practised of them."""

import uuid
from datetime import date
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.views.decorators.http import require_GET, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Act
from coachbook.accounts.models import Student
from coachbook.accounts.relationships import Tie
from coachbook.http import Request
from drills.models import PracticeEntry, Prescription
from drills.practice.doses import counted
from drills.practice.forms import PracticeForm
from drills.practice.reports import BACK, DrillDay, drill_days, report_practice, reportable


@require_GET
def today(request: Request, key: uuid.UUID) -> HttpResponse:
    """Everything to practise today, with one tap to report it."""
    student = gate.student(request, Act.READ, key)
    return page(request, student)


@require_POST
def practice_report(
    request: Request, key: uuid.UUID, prescription_key: uuid.UUID, entry_key: uuid.UUID
) -> HttpResponse:
    """Report practice, once: the entry's key is in the address, so that a double tap meets the same row."""
    student = gate.student(request, Act.PRACTISE, key)
    on = day_here(request)
    prescription = get_object_or_404(reportable(student, on), key=prescription_key)
    stored = stored_at(entry_key, prescription)
    form = PracticeForm(request.POST, prescription=prescription, on=on, stored=stored)
    if not form.is_valid():
        return card(request, student, form) if request.htmx else page(request, student, form)
    source = PracticeEntry.Source.STUDENT if Tie.SELF in gate.ties_of(student) else PracticeEntry.Source.GUARDIAN
    entry, is_new = report_practice(prescription=prescription, key=entry_key, source=source, **form.cleaned_data)
    return done(request, student, prescription, entry, status=201 if is_new else 200)


@require_POST
def practice_strike(
    request: Request, key: uuid.UUID, prescription_key: uuid.UUID, entry_key: uuid.UUID
) -> HttpResponse:
    """Take a report of the last two weeks back; to do so twice changes nothing more."""
    student = gate.student(request, Act.PRACTISE, key)
    on = day_here(request)
    prescription = get_object_or_404(reportable(student, on), key=prescription_key)
    entry = get_object_or_404(prescription.entries.filter(day__gte=on - BACK), key=entry_key)
    if not entry.struck:
        entry.struck = True
        entry.save(update_fields=["struck"])
    return done(request, student, prescription, entry)


def day_here(request: Request) -> date:
    """Today, at the academy."""
    return request.academy.today(timezone.now())


def stored_at(key: uuid.UUID, prescription: Prescription) -> PracticeEntry | None:
    """The entry at this address; 404 where the address belongs to another prescription."""
    entry = PracticeEntry.objects.filter(key=key).first()
    if entry and entry.prescription_id != prescription.pk:
        raise Http404
    return entry


def done(
    request: Request, student: Student, prescription: Prescription, entry: PracticeEntry, status: int = 200
) -> HttpResponse:
    """The drill's card as it now stands, or, without a script, the way back to the page."""
    on = day_here(request)
    words = told(entry, prescription.unit, on)
    if request.htmx:
        return card(request, student, PracticeForm(prescription=prescription, on=on), words, status)
    messages.success(request, words)
    return HttpResponseRedirect(reverse("today", args=[student.key]), status=303)


def told(entry: PracticeEntry, unit: str, on: date) -> str:
    """What became of a report; one that is sent again after it was taken back stays so."""
    when = "today" if entry.day == on else date_format(entry.day, "l j F")
    return f"{'Taken back' if entry.struck else 'Written down'} for {when}: {counted(entry.amount, unit)}."


# --- What is drawn ------------------------------------------------------------------------------


def page(request: Request, student: Student, form: PracticeForm | None = None) -> HttpResponse:
    """The whole day; with a form that cannot be, 422 and that form open in its place."""
    on = day_here(request)
    given = list(Prescription.objects.in_force(on).filter(student=student))
    if form and form.prescription not in given:
        given.append(form.prescription)
    days = drill_days(given, on)
    cards = [card_context(day, form if form and form.prescription == day.prescription else None) for day in days]
    context = {**reader_context(request, student), "cards": cards, "form": form}
    return render(request, "drills/practice/today.html", context, status=422 if form else 200)


def card(request: Request, student: Student, form: PracticeForm, words: str = "", status: int = 422) -> HttpResponse:
    """One drill's card alone."""
    [day] = drill_days([form.prescription], form.on)
    context = {**reader_context(request, student), "card": card_context(day, form), "words": words}
    return render(request, "drills/practice/card.html", context, status=status)


def reader_context(request: Request, student: Student) -> dict[str, Any]:
    """For whom the page is, and what whoever looks at it may do."""
    on = day_here(request)
    return {
        "student": student,
        "on": on,
        "junior": student.is_junior(on, request.academy.adult_at),
        "may_report": gate.may(student, Act.PRACTISE),
    }


def card_context(day: DrillDay, form: PracticeForm | None = None) -> dict[str, Any]:
    """A drill's day with its form, and a fresh address for each of the two ways to report."""
    form = form or PracticeForm(prescription=day.prescription, on=day.on)
    return {"day": day, "form": form, "done_key": uuid.uuid4(), "more_key": uuid.uuid4()}
