"""What a phone asks for to work without a network: the worker, the empty page, and what it keeps to fill that page."""

import hashlib
import json
from typing import Any

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.http import Request
from coachbook.offline import files
from coachbook.offline.coach import coach_day
from coachbook.offline.guardian import guardian_day
from coachbook.offline.student import student_day

KEY = "[0-9a-f-]{36}"
# The addresses that have a likeness without a network; static/js/offline/start.js draws each.
PAGES = [
    "^/$",
    "^/diary/$",
    "^/students/$",
    "^/students/walk-in/$",
    f"^/students/{KEY}/walk-in/$",
    f"^/students/{KEY}/lessons/(new|{KEY})/$",
    f"^/students/{KEY}/tests/(new|{KEY})/$",
    f"^/students/{KEY}/practice/$",
    f"^/students/{KEY}/sheets/{KEY}/$",
]


@login_not_required
@require_GET
def service_worker(request: HttpRequest) -> HttpResponse:
    """The service worker of the whole site, with the version and the addresses of what it keeps."""
    site = {
        "version": files.version(),
        "shell": reverse("offline_shell"),
        "files": files.addresses(),
        "pages": PAGES,
        "patience": files.PATIENCE,
        "lasting": settings.PRODUCTION,
    }
    text = f"const SITE = {json.dumps(site)};\n{files.worker()}"
    headers = {"Cache-Control": "no-cache", "Service-Worker-Allowed": "/"}
    return HttpResponse(text, content_type="text/javascript; charset=utf-8", headers=headers)


@login_not_required
@require_GET
def offline_shell(request: HttpRequest) -> HttpResponse:
    """The empty page, which stands in for a page that the network does not bring."""
    return HttpResponse(files.shell(), headers={"Cache-Control": "no-cache"})


@require_GET
def offline_day(request: Request) -> JsonResponse:
    """What the signed-in person's phone keeps for days without a network; the blank forms only where they are new."""
    gate.require(request, Permission.USE_SITE)
    at = timezone.now()
    blanks: dict[str, str] = {}
    day: dict[str, Any]
    if request.user.is_coach:
        day, blanks = coach_day(request, at)
    elif hasattr(request.user, "student"):
        day = student_day(request, request.user.student.key, at)
    else:
        day = guardian_day(request, at)
    forms = forms_words(blanks, request.GET.get("forms", ""))
    return JsonResponse({"person": str(request.user.key), "academy": request.academy.name, "forms": forms, **day})


def forms_words(blanks: dict[str, str], known: str) -> dict[str, Any]:
    """The blank forms and their version; without their text where the phone has that version."""
    version = hashlib.sha256(json.dumps(blanks).encode()).hexdigest()[:32]
    return {"version": version, "blanks": None if version == known else blanks}
