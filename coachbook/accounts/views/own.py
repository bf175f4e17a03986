"""The page of a person's own account."""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.http import Request

CHANGES = 10


@require_GET
def account(request: Request) -> HttpResponse:
    """Password, second factor, devices, and what changed lately in how this person signs in."""
    gate.require(request, Permission.USE_SITE)
    context = {
        "changes": request.user.sign_in_changes.all()[:CHANGES],
        "has_calendar": gate.get_students(request, Permission.REPORT_PRACTICE).exists(),
        "offers_factor": request.user.is_manager or request.user.is_coach or request.user.has_factor,
    }
    return render(request, "accounts/account.html", context)
