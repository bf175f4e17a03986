"""What an academy owes the people whose records it keeps: a notice that a child can read, and two templates to fill in.

What they must hold is from Regulation (EU) 2016/679: Articles 12 and 13 (notice), 30(1) (record of processing), 35(7)
(impact assessment). None of it is legal advice, and each page says so.
"""

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.http import Request
from coachbook.rights.export.kinds import KINDS
from coachbook.rights.models import GRACE

BACKUP_DAYS = 35  # what the daily unit keeps


@require_GET
def notice(request: Request) -> HttpResponse:
    """What is written down about a student, in words for a twelve-year-old; for everybody who is signed in."""
    return render(request, "rights/documents/notice.html", facts())


@require_GET
def processing_record(request: Request) -> HttpResponse:
    """A record of processing, filled in as far as the program knows; to print."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    return render(request, "rights/documents/processing_record.html", facts())


@require_GET
def impact_assessment(request: Request) -> HttpResponse:
    """An impact assessment, with the risks that the program knows and what it does about them; to print."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    return render(request, "rights/documents/impact_assessment.html", facts())


def facts() -> dict[str, object]:
    """What the program can say by itself."""
    return {"kinds": KINDS, "grace": GRACE.days, "backup_days": BACKUP_DAYS}
