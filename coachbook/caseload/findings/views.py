"""The academy's progress, for the manager."""

from datetime import date

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.caseload.findings.gather import gather_findings
from coachbook.caseload.views import today
from coachbook.http import Request

PERIODS = {"3": "3 months", "12": "12 months", "all": "All"}
USUAL = "12"


@require_GET
def academy_progress(request: Request) -> HttpResponse:
    """Which faults are common, which changes hold, and each coach beside what chance would do."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    on, asked = today(request), request.GET.get("months", USUAL)
    period = asked if asked in PERIODS else USUAL
    since = None if period == "all" else months_before(on, int(period))
    context = {
        "findings": gather_findings(request.academy, on, since),
        "since": since,
        "on": on,
        "period": period,
        "periods": PERIODS,
    }
    return render(request, "caseload/findings/findings.html", context)


def months_before(on: date, months: int) -> date:
    """The first day of the month so many before: the counts are kept by whole months."""
    year, month = divmod(on.year * 12 + on.month - 1 - months, 12)
    return date(year, month + 1, 1)
