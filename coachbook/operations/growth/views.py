"""The manager's page about the size of the site."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.http import Request
from coachbook.operations.growth.advice import WRITERS, reasons_to_change
from coachbook.operations.growth.measure import DAYS, measure


@require_GET
def site_size(request: Request) -> HttpResponse:
    """What the site measures of itself, whether its database is still the right one, and how to change it."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    figures = measure(timezone.now())
    context = {"figures": figures, "reasons": reasons_to_change(figures), "days": DAYS, "writers": WRITERS}
    return render(request, "operations/site_size.html", context)
