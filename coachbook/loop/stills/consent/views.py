"""What becomes of the pictures of a student whose consent was withdrawn."""

import uuid

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Consent, Student
from coachbook.accounts.pictures import Answer, picture_consent
from coachbook.family.consents import withdraw_consent
from coachbook.http import Request
from lessons.models import Still
from lessons.stills.erasing import erase_stills


@require_http_methods(["GET", "POST"])
def pictures(request: Request, key: uuid.UUID) -> HttpResponse:
    """Ask those who withdrew what becomes of the pictures: hidden they are already; a POST erases them for good."""
    student = gate.get_student(request, Permission.GIVE_CONSENT, key)
    stills = Still.objects.filter(lesson__student=student).order_by("pk")
    is_given = picture_consent(student, request.academy, request.academy.today(timezone.now())) == Answer.GIVEN
    if request.method == "GET" and not is_given and (number := stills.count()):
        return render(request, "loop/stills/pictures.html", {"student": student, "number": number})
    if request.method == "POST" and not is_given and (number := erase_stills(stills)):
        messages.success(request, f"Erased for good: {number} picture{'' if number == 1 else 's'}.")
    return redirect("consents", key=key)


@require_POST
def pictures_no_more(request: Request, key: uuid.UUID) -> HttpResponseRedirect:
    """Note that an adult who agreed in a lesson agrees no more: from now on nobody sees a picture of them."""
    student = gate.get_student(request, Permission.LOG_LESSONS, key)
    if was_said_to_a_coach(student, request):
        withdraw_consent(student=student, purpose=Consent.Purpose.PHOTOS, at=timezone.now())
        messages.success(request, f"No picture of {student.name} is shown any more.")
    return redirect("student", key=key)


def was_said_to_a_coach(student: Student, request: Request) -> bool:
    """Whether an adult agreed in a lesson, and not on their own page."""
    given = student.consents.filter(purpose=Consent.Purpose.PHOTOS, withdrawn_at=None)
    is_junior = student.is_junior(request.academy.today(timezone.now()), request.academy.adult_at)
    return not is_junior and given.filter(given_by__coach__isnull=False).exclude(given_by=student.user_id).exists()
