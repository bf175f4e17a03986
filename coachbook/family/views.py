"""The screens of consent and of guardians."""

import uuid
from datetime import date
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Act
from coachbook.accounts.models import Consent, Guardianship, Student
from coachbook.family.consents import asked_of, give_consent, withdraw_consent, words_for
from coachbook.family.forms import GuardianForm
from coachbook.family.guardians import add_guardian, end_guardianship
from coachbook.forms import render_form
from coachbook.http import Request


@require_GET
def consents(request: Request, key: uuid.UUID) -> HttpResponse:
    """Who gave consent to what, when, in which words; and, for those who decide, to give and withdraw it."""
    student = gate.student(request, Act.READ, key)
    return show_consents(request, student)


@require_POST
def consent_give(request: Request, key: uuid.UUID, purpose: str) -> HttpResponse:
    """Give consent for one purpose, to the very words that stood above the button."""
    student = gate.student(request, Act.CONSENT, key)
    if request.POST.get("words") != words_for(known(purpose), student):
        return show_consents(request, student, reworded=purpose)
    give_consent(student=student, purpose=purpose, by=request.user, at=timezone.now())
    messages.success(request, f"You said yes to {Consent.Purpose(purpose).label}. You can take it back at any time.")
    return redirect("consents", key=key)


@require_POST
def consent_withdraw(request: Request, key: uuid.UUID, purpose: str) -> HttpResponseRedirect:
    """Take consent for one purpose back."""
    student = gate.student(request, Act.CONSENT, key)
    withdraw_consent(student=student, purpose=known(purpose), at=timezone.now())
    messages.success(request, f"Taken back: {Consent.Purpose(purpose).label}. It holds from now on.")
    return redirect("consents", key=key)


def show_consents(request: Request, student: Student, reworded: str = "") -> HttpResponse:
    """The page of consent; 422 where the words of one purpose changed after the page was drawn."""
    context = {"student": student, "asked": asked_of(student), "decides": gate.may(student, Act.CONSENT)}
    status = 422 if reworded else 200
    return render(request, "family/consents.html", {**context, "reworded": reworded}, status=status)


def known(purpose: str) -> str:
    """A purpose that there is, or 404."""
    if purpose not in Consent.Purpose.values:
        raise Http404
    return purpose


@require_GET
def guardians(request: Request, key: uuid.UUID) -> HttpResponse:
    """The guardians of a student, and those of before."""
    student = gate.student(request, Act.ARRANGE, key)
    return show_guardians(request, student, guardian_form(request, student, None))


@require_POST
def guardian_add(request: Request, key: uuid.UUID) -> HttpResponse:
    """Make somebody who has an account a guardian; to do so twice changes nothing more."""
    student = gate.student(request, Act.RUN, key)
    form = guardian_form(request, student, request.POST)
    if not form.is_valid():
        return show_guardians(request, student, form)
    person = form.cleaned_data["login"]
    add_guardian(student=student, person=person)
    messages.success(request, f"{person} is a guardian of {student}.")
    return redirect("guardians", key=key)


@require_POST
def guardian_end(request: Request, key: uuid.UUID, guardian_key: uuid.UUID) -> HttpResponseRedirect:
    """Let a guardianship end: they are out at their next request, and what they wrote stays."""
    student = gate.student(request, Act.RUN, key)
    guardianship = get_object_or_404(student.guardianships.select_related("guardian"), guardian__key=guardian_key)
    end_guardianship(guardianship=guardianship, on=today(request))
    messages.success(request, f"{guardianship.guardian} is no longer a guardian of {student}.")
    return redirect("guardians", key=key)


def today(request: Request) -> date:
    """The academy's date."""
    return request.academy.today(timezone.now())


def guardian_form(request: Request, student: Student, typed: Any) -> GuardianForm:
    """The form for one more guardian."""
    return GuardianForm(typed, student=student, academy=request.academy, today=today(request))


def show_guardians(request: Request, student: Student, form: GuardianForm) -> HttpResponse:
    """The page of guardians, with every change that was made and who made it."""
    on = today(request)
    rows = list(student.guardianships.select_related("guardian").order_by("guardian__name", "pk"))
    changes = Guardianship.history.filter(student=student).select_related("guardian", "history_user")
    context = {
        "student": student,
        "standing": [row for row in rows if row.ended_on is None or row.ended_on > on],
        "changes": changes.order_by("-history_date", "-history_id"),
        "junior": student.is_junior(on, request.academy.adult_at),
    }
    return render_form(request, "family/guardians.html", form, context)
