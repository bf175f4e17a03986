"""Pages that belong to no app: the start page, the appearance, the sources, and error pages."""

import sys

from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import BadRequest, SuspiciousOperation
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase, HttpResponseRedirect, UnreadablePostError
from django.http.multipartparser import MultiPartParserError
from django.shortcuts import redirect, render
from django.views import defaults
from django.views.decorators.http import require_GET

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.http import Request
from coachbook.outages import Outage, outage_of
from coachbook.sources import GROUPS

RETRY_AFTER = "60"  # seconds
CSRF_FIELD = "csrfmiddlewaretoken"
NEVER_SHOWN = {CSRF_FIELD, "code", "credential"}  # what signs in is typed anew
UNREADABLE = (BadRequest, MultiPartParserError, SuspiciousOperation, UnreadablePostError)
PAGE_FIELDS = {"page", "base", "count", "focus"}  # hidden fields of the log; nobody typed them


@require_GET
def home(request: Request) -> HttpResponseRedirect:
    """Redirect each person to the page on which their day begins."""
    gate.require(request, Permission.USE_SITE)
    if request.user.is_coach:
        return redirect("day")
    if request.user.is_manager:
        return redirect("caseload")
    if hasattr(request.user, "student"):
        return redirect("today", key=request.user.student.key)
    return redirect("students")


@require_GET
def appearance(request: Request) -> HttpResponse:
    """Every colour, symbol and part of a page in one place, for developers."""
    gate.require(request, Permission.USE_SITE)
    return render(request, "appearance.html")


@require_GET
def sources(request: Request) -> HttpResponse:
    """The statistical methods and published sources behind the pages, with their limits."""
    gate.require(request, Permission.USE_SITE)
    return render(request, "sources.html", {"groups": GROUPS})


def render_not_saved(request: HttpRequest, status: int, sign_in: str = "") -> HttpResponse:
    """A page that keeps everything typed, to be sent again by the person who typed it."""
    context = {
        "typed": typed_values(request),
        "action": request.get_full_path(),
        "sign_in": sign_in,
        "is_too_much": status == 429,
    }
    return render(request, "not_saved.html", context, status=status)


def is_own_form(request: HttpRequest) -> bool:
    """Whether a form was sent from a page of our own: another site must not be able to fill in a page of ours.

    An unknown address has no view, so that nothing asked for its token; nor did anything where no session can be read.
    """
    checked = getattr(request, "csrf_processing_done", False)
    return checked or request.headers.get("Origin") == f"{request.scheme}://{request.get_host()}"


def typed_values(request: HttpRequest) -> list[tuple[str, str]]:
    """What was typed, as pairs of name and value; nothing where the body cannot be read."""
    try:
        typed = request.POST
    except UNREADABLE:
        return []
    return [(name, value) for name, values in typed.lists() for value in values if may_be_shown(name)]


def may_be_shown(name: str) -> bool:
    """Whether a field may be shown to the page again: neither a password nor a token of the old page."""
    return "password" not in name and name not in NEVER_SHOWN


def too_many(request: HttpRequest) -> HttpResponse:
    """The answer to a person who sends more in a minute than anybody types; static/js/page.js has words of its own."""
    return HttpResponse(status=429) if getattr(request, "htmx", False) else render_not_saved(request, 429)


@login_not_required
def no_such_page(request: HttpRequest, **kwargs: str) -> HttpResponse:
    """The answer of a library's page that nobody here can use, signed in or not."""
    raise Http404


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """The page for 404: there is nothing here that this person may see."""
    return render_refusal(request, 404)


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    """The page for 403: this person may see this, but not do it."""
    return render_refusal(request, 403)


def render_refusal(request: HttpRequest, status: int) -> HttpResponse:
    """The page of a refusal; it shows what the person typed, to be copied."""
    pairs = typed_values(request) if is_own_form(request) else []
    typed = [(name, value) for name, value in pairs if value and name not in PAGE_FIELDS]
    if not getattr(request, "htmx", False):
        return render(request, f"{status}.html", {"typed": typed}, status=status)
    response = render(request, "parts/refused.html", {"status": status}, status=status)
    response.headers["HX-Retarget"] = "#notice"
    response.headers["HX-Reswap"] = "innerHTML"
    return response


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """The answer to a form of our own with an old token, after a sign-in in another tab: a page to send it again."""
    if request.method == "POST" and is_own_form(request):
        return render_not_saved(request, 403)
    return render(request, "403.html", status=403)


def server_error(request: HttpRequest) -> HttpResponseBase:
    """The page for 500; or for 503 and 507, where disk or database keep the site from answering for a while.

    Django calls it while it handles the error, of a view or of any middleware.
    """
    outage = outage_of(sys.exception())
    return render_outage(request, outage) if outage else defaults.server_error(request)


def render_outage(request: HttpRequest, outage: Outage) -> HttpResponse:
    """A page, or for htmx a sentence, that says what is wrong and keeps what was typed; it asks no database."""
    typed = typed_values(request) if may_be_sent_again(request) else []
    context = {"outage": outage, "typed": typed, "action": request.get_full_path()}
    template = "parts/outage.html" if "HX-Request" in request.headers else "outage.html"
    response = render(request, template, context, status=outage.status)
    response.headers["Retry-After"] = RETRY_AFTER
    response.headers["Cache-Control"] = "private, no-store"
    return response


def may_be_sent_again(request: HttpRequest) -> bool:
    """Whether a form came from a page of our own, and without a password, which no page may hold."""
    return (
        request.method == "POST"
        and is_own_form(request)
        and all(may_be_shown(name) or name == CSRF_FIELD for name in request.POST)
    )
