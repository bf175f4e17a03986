"""A student's drills for today, and reports of practice."""

import uuid
from datetime import UTC, date, datetime, timedelta
from typing import Any

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.views.decorators.http import require_GET, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Student
from coachbook.accounts.relationships import Relationship
from coachbook.http import Request
from coachbook.outbox.once import conflict_status, day_of, once
from drills.models import PracticeEntry, Prescription
from drills.practice.doses import format_amount
from drills.practice.forms import PracticeForm
from drills.practice.reports import (
    AlreadyReportedError,
    DrillDay,
    drill_days,
    lately,
    report_practice,
    reportable,
    started,
)
from drills.practice.week.gather import lay_out, with_days_picked

A_MINUTE, HALF_A_DAY = timedelta(minutes=1), timedelta(hours=12)
LONGEST_MOMENT = 12  # digits of a number of seconds that a date can hold


@require_GET
def today(request: Request, key: uuid.UUID) -> HttpResponse:
    """The drills of today, each with one tap to report it."""
    student = gate.get_student(request, Permission.READ_RECORD, key)
    return render_today(request, student)


@once
@require_POST
def practice_report(
    request: Request, key: uuid.UUID, prescription_key: uuid.UUID, entry_key: uuid.UUID
) -> HttpResponse:
    """Report practice, once: the entry's key is in the address, so that a double tap stores one row."""
    student = gate.get_student(request, Permission.REPORT_PRACTICE, key)
    on = academy_today(request)
    prescription = get_object_or_404(reportable(student, on), key=prescription_key)
    stored = gate.own_or_new(prescription.entries.all(), entry_key)
    form = PracticeForm(request.POST, prescription=prescription, on=on, stored=stored, done_on=day_of(request))
    status = conflict_status(request) if stored else 422
    if form.is_valid():
        try:
            entry, is_new = report_practice(
                prescription=prescription, key=entry_key, source=source_of(student), on=on, **form.report
            )
        except AlreadyReportedError as found:
            form.ask_whether_another(found.entry)
            status = conflict_status(request)
        else:
            return confirm_report(request, student, prescription, entry, status=201 if is_new else 200)
    return (render_card if request.htmx else render_today)(request, student, form, status=status)


@once
@require_POST
def practice_void(request: Request, key: uuid.UUID, prescription_key: uuid.UUID, entry_key: uuid.UUID) -> HttpResponse:
    """Undo a report of the last two weeks, or one filled in then; a second time changes nothing."""
    student = gate.get_student(request, Permission.REPORT_PRACTICE, key)
    on = academy_today(request)
    prescription = get_object_or_404(started(student, on), key=prescription_key)
    entry = get_object_or_404(lately(prescription.entries.all(), on), key=entry_key)
    if not entry.is_void:
        entry.is_void = True
        entry.save(update_fields=["is_void"])
    return confirm_report(request, student, prescription, entry)


@require_GET
def practice_doing(request: Request, key: uuid.UUID, prescription_key: uuid.UUID) -> HttpResponse:
    """A drill while it is practised: the time since it began, which stands in the address, its count and its steps.

    A clock time outlives a locked screen and a reload, and costs no writing.
    """
    student = gate.get_student(request, Permission.REPORT_PRACTICE, key)
    on, at = academy_today(request), timezone.now()
    prescription = get_object_or_404(reportable(student, on), key=prescription_key)
    began = began_at(request.GET.get("began", ""), at)
    if began is None:
        return HttpResponseRedirect(f"{request.path}?began={int(at.timestamp())}")
    minutes = max(1, round((at - began).total_seconds() / 60))
    initial = {"amount": minutes} if prescription.unit == "minutes" and began < at - A_MINUTE else {}
    [day] = drill_days([prescription], on)
    card = card_context(day, PracticeForm(prescription=prescription, on=on, initial=initial))
    times = {"began": began, "seconds": int((at - began).total_seconds())}
    return render(request, "drills/practice/doing.html", {**reader_context(request, student), "card": card, **times})


@require_POST
def practice_mark(request: Request, key: uuid.UUID, prescription_key: uuid.UUID) -> HttpResponse:
    """Set the next mark of a drill, as it was offered; a second tap changes nothing."""
    student = gate.get_student(request, Permission.LOG_LESSONS, key)
    prescription = get_object_or_404(student.prescriptions.in_force(academy_today(request)), key=prescription_key)
    [day] = drill_days([prescription], academy_today(request))
    if day.next_mark and request.POST.get("mark") == day.next_mark:
        prescription.mark = day.next_mark
        prescription.save(update_fields=["mark"])
        messages.success(request, "The next mark is set.")
    return redirect("today", key=student.key)


def began_at(typed: str, at: datetime) -> datetime | None:
    """The moment in an address, in seconds since 1970; None if it is none, lies ahead, or is older than half a day."""
    if not (typed.isascii() and typed.isdigit() and len(typed) < LONGEST_MOMENT):
        return None
    began = datetime.fromtimestamp(int(typed), UTC)
    return began if at - HALF_A_DAY <= began <= at else None


def source_of(student: Student) -> PracticeEntry.Source:
    """Who reports: the student, or a guardian for them."""
    is_self = Relationship.SELF in gate.relationships_of(student)
    return PracticeEntry.Source.STUDENT if is_self else PracticeEntry.Source.GUARDIAN


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


def render_today(
    request: Request, student: Student, form: PracticeForm | None = None, status: int = 200
) -> HttpResponse:
    """The page of today; with an invalid form, that form open."""
    on = academy_today(request)
    given = list(with_days_picked(student.prescriptions.in_force(on)))
    days = {day.prescription: day for day in drill_days(given, on, are_all=True)}
    week = lay_out(given, {row.pk: [report.day for report in day.reports] for row, day in days.items()}, on)
    planned = week.planned_on(on)
    cards = [card_context(days[row], form) | {"is_free": row not in planned} for row in week.today_first]
    if form and form.prescription not in days:
        cards += [card_context(day, form) for day in drill_days([form.prescription], on)]
    context = {**reader_context(request, student), "cards": cards, "form": form}
    return render(request, "drills/practice/today.html", context, status=status)


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
        "may_set_mark": gate.is_allowed(student, Permission.LOG_LESSONS),
    }


def card_context(day: DrillDay, form: PracticeForm | None = None) -> dict[str, Any]:
    """A drill on this day with its form, or a new one if the form is another drill's, and a new key for its report."""
    if form is None or form.prescription != day.prescription:
        form = PracticeForm(prescription=day.prescription, on=day.on)
    return {"day": day, "form": form, "key": uuid.uuid4()}
