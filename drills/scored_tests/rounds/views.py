"""A student's rounds in four numbers."""

import uuid
from datetime import date
from typing import Any

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.views.decorators.http import require_GET, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Student
from coachbook.forms import render_form
from coachbook.http import Request
from drills.models import Round
from drills.scored_tests.recording.scoring import TEST_UNDO_PERIOD
from drills.scored_tests.rounds.forms import RoundForm
from drills.scored_tests.rounds.picture import Picture
from drills.scored_tests.rounds.summary import (
    SHOWN,
    certainty,
    change_words,
    compared_words,
    four_numbers,
    per_18,
    rounds_of,
)
from lessons.progress.words import counted


@require_GET
def rounds(request: Request, key: uuid.UUID) -> HttpResponse:
    """The rounds of two years: their numbers, the picture, and the form for another."""
    student = gate.get_student(request, Permission.READ_RECORD, key)
    return render_rounds(request, student, RoundForm(on=academy_today(request)))


@require_POST
def round_report(request: Request, key: uuid.UUID, round_key: uuid.UUID) -> HttpResponse:
    """Save a round, once: its key is in the URL, so that a double tap stores one row."""
    student = gate.get_student(request, Permission.RECORD_SCORES, key)
    stored = gate.own_or_new(student.rounds.all(), round_key)
    form = RoundForm(request.POST, on=academy_today(request), stored=stored)
    if not form.is_valid():
        return render_rounds(request, student, form)
    row, _ = student.rounds.get_or_create(key=round_key, defaults={"by": request.user, **form.cleaned_data})
    return confirm_round(request, student, row)


@require_POST
def round_void(request: Request, key: uuid.UUID, round_key: uuid.UUID) -> HttpResponse:
    """Undo a round that was saved in the last two weeks; a second time changes nothing."""
    student = gate.get_student(request, Permission.RECORD_SCORES, key)
    row = get_object_or_404(student.rounds.filter(pk__in=undoable_rounds(student)), key=round_key)
    if not row.is_void:
        row.is_void = True
        row.save(update_fields=["is_void"])
    return confirm_round(request, student, row)


def academy_today(request: Request) -> date:
    """Today, at the academy."""
    return request.academy.today(timezone.now())


def undoable_rounds(student: Student) -> set[int]:
    """The pks of rounds that may be undone: by the day they were saved, so that a wrong day played can be undone."""
    own = student.rounds.values("pk")  # the history of a merged student's rounds names the other student
    saved = Round.history.filter(id__in=own, history_type="+", history_date__gte=timezone.now() - TEST_UNDO_PERIOD)
    return set(saved.values_list("id", flat=True))


def confirm_round(request: Request, student: Student, row: Round) -> HttpResponseRedirect:
    """Redirect to the page with a confirmation."""
    what = "Undone" if row.is_void else "Saved"
    values = f"{counted(row.putts, 'putt')} on {row.holes} holes"
    messages.success(request, f"{what} for {date_format(row.day, 'j F Y')}: {values}.")
    return HttpResponseRedirect(reverse("rounds", args=[student.key]), status=303)


def render_rounds(request: Request, student: Student, form: RoundForm) -> HttpResponse:
    """The page of rounds; with an invalid form, status 422 and all that was typed."""
    on = academy_today(request)
    found = rounds_of(student, on)
    tests = sorted(set(student.scored_tests.done().since(on - SHOWN).values_list("day", flat=True)))
    context = {
        "student": student,
        "rows": table_rows(found, undoable_rounds(student)),
        "numbers": four_numbers(found),
        "compared": compared_words(found),
        "certainty": certainty(found) if gate.is_allowed(student, Permission.READ_NOTES) else [],
        "change": change_words(found),
        "picture": Picture(found, tests) if found else None,
        "may_score": gate.is_allowed(student, Permission.RECORD_SCORES),
        "round_key": uuid.uuid4(),
    }
    return render_form(request, "drills/scored_tests/rounds/rounds.html", form, context)


def table_rows(found: list[Round], undoable: set[int]) -> list[dict[str, Any]]:
    """The rows of the table, newest first."""
    return [
        {
            "round": each,
            "per_18": per_18(each.putts, each.holes),
            "up_and_downs": f"{each.made} of {each.tried}" if each.tried else "",
            "may_void": each.pk in undoable,
        }
        for each in reversed(found)
    ]
