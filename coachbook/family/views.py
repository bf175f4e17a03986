"""The pages of consent and guardians."""

import uuid
from datetime import date
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Consent, Guardianship, Student
from coachbook.accounts.relationships import guardian_condition
from coachbook.family.consents import (
    asked_purposes,
    consent_problem,
    consent_text,
    consents_of,
    give_consent,
    withdraw_consent,
)
from coachbook.family.forms import GuardianForm
from coachbook.family.guardians import add_guardian, end_guardianship
from coachbook.forms import render_form
from coachbook.http import Request
from coachbook.navigation import address
from lessons.models import Still


@require_GET
def consents(request: Request, key: uuid.UUID) -> HttpResponse:
    """Who gave consent to what, when, and to which text; those who decide can give and withdraw it here."""
    student = gate.get_student(request, Permission.READ_RECORD, key)
    return render_consents(request, student)


@require_POST
def consent_give(request: Request, key: uuid.UUID, purpose: str) -> HttpResponse:
    """Give consent for one purpose, to the very text that was shown above the button."""
    student = gate.get_student(request, Permission.GIVE_CONSENT, key)
    purpose = purpose_or_404(purpose)
    if purpose not in asked_purposes(is_junior=is_junior_today(request, student)):
        raise Http404
    if consent_problem(request.user, student):
        return render_consents(request, student, refused=purpose)
    if request.POST.get("text") != consent_text(purpose, student):
        return render_consents(request, student, changed=purpose)
    give_consent(student=student, purpose=purpose, by=request.user, at=timezone.now())
    messages.success(request, f"Consent given: {Consent.Purpose(purpose).label}. You can withdraw it at any time.")
    return redirect("consents", key=key)


@require_POST
def consent_withdraw(request: Request, key: uuid.UUID, purpose: str) -> HttpResponseRedirect:
    """Withdraw consent for one purpose."""
    student = gate.get_student(request, Permission.GIVE_CONSENT, key)
    withdraw_consent(student=student, purpose=purpose_or_404(purpose), at=timezone.now())
    messages.success(request, f"Consent withdrawn: {Consent.Purpose(purpose).label}. This applies from now on.")
    if purpose == Consent.Purpose.PHOTOS and Still.objects.filter(lesson__student=student).exists():
        return redirect(address("pictures", key))
    return redirect("consents", key=key)


def render_consents(request: Request, student: Student, changed: str = "", refused: str = "") -> HttpResponse:
    """The page of consent; 422 where one purpose's text changed after the page was shown, or consent was refused."""
    may_decide = gate.is_allowed(student, Permission.GIVE_CONSENT)
    on, is_junior = today(request), is_junior_today(request, student)
    context = {
        "student": student,
        "purposes": consents_of(student, is_junior=is_junior),
        "pictures": Still.objects.filter(lesson__student=student).count() if may_decide else 0,
        "changed": changed,
        "refused": refused,
        "may_decide": may_decide,
        "problem": consent_problem(request.user, student) if may_decide else "",
        "is_suspended": is_junior and not Student.objects.filter(guardian_condition(on), pk=student.pk).exists(),
    }
    return render(request, "family/consents.html", context, status=422 if changed or refused else 200)


def is_junior_today(request: Request, student: Student) -> bool:
    """Whether guardians decide for the student today."""
    return student.is_junior(today(request), request.academy.adult_at)


def purpose_or_404(purpose: str) -> str:
    """The purpose, or 404 where there is none of this name."""
    if purpose not in Consent.Purpose.values:
        raise Http404
    return purpose


@require_GET
def guardians(request: Request, key: uuid.UUID) -> HttpResponse:
    """The guardians of a student, and the changes among them."""
    student = gate.get_student(request, Permission.EDIT_STUDENT, key)
    return render_guardians(request, student, guardian_form(request, student, None))


@require_POST
def guardian_add(request: Request, key: uuid.UUID) -> HttpResponse:
    """Make somebody who has an account a guardian; a second time changes nothing."""
    student = gate.get_student(request, Permission.MANAGE_ACADEMY, key)
    form = guardian_form(request, student, request.POST)
    if not form.is_valid():
        return render_guardians(request, student, form)
    person = form.cleaned_data["login"]
    add_guardian(student=student, person=person, by=request.user)
    messages.success(request, f"{person} is a guardian of {student}.")
    return redirect("guardians", key=key)


@require_POST
def guardian_end(request: Request, key: uuid.UUID, guardian_key: uuid.UUID) -> HttpResponseRedirect:
    """End a guardianship: access ends at the next request, and what the guardian wrote stays."""
    student = gate.get_student(request, Permission.MANAGE_ACADEMY, key)
    guardianship = get_object_or_404(student.guardianships.select_related("guardian"), guardian__key=guardian_key)
    end_guardianship(guardianship=guardianship, on=today(request))
    messages.success(request, f"{guardianship.guardian} is no longer a guardian of {student}.")
    return redirect("guardians", key=key)


def today(request: Request) -> date:
    """The academy's date."""
    return request.academy.today(timezone.now())


def guardian_form(request: Request, student: Student, data: Any) -> GuardianForm:
    """The form for one more guardian."""
    return GuardianForm(data, student=student, academy=request.academy, today=today(request))


def render_guardians(request: Request, student: Student, form: GuardianForm) -> HttpResponse:
    """The page of guardians, with every change and who made it."""
    on = today(request)
    rows = list(student.guardianships.select_related("guardian").order_by("guardian__name", "pk"))
    changes = Guardianship.history.filter(student=student).select_related("guardian", "history_user")
    context = {
        "student": student,
        "current": [row for row in rows if row.ended_on is None or row.ended_on > on],
        "changes": changes.order_by("-history_date", "-history_id"),
        "is_junior": student.is_junior(on, request.academy.adult_at),
    }
    return render_form(request, "family/guardians.html", form, context)
