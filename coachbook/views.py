"""Pages that belong to no app: the start page, the appearance, the sources, and error pages."""

from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import BadRequest, SuspiciousOperation
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect, UnreadablePostError
from django.http.multipartparser import MultiPartParserError
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.http import Request
from coachbook.sources import GROUPS

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
    children = list(gate.get_students(request)[:2])
    return redirect("today", key=children[0].key) if len(children) == 1 else redirect("students")


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
    context = {"typed": typed_values(request), "action": request.get_full_path(), "sign_in": sign_in}
    return render(request, "not_saved.html", context, status=status)


def typed_values(request: HttpRequest) -> list[tuple[str, str]]:
    """What was typed, as pairs of name and value; nothing where the body cannot be read."""
    try:
        typed = request.POST
    except UNREADABLE:
        return []
    return [(name, value) for name, values in typed.lists() for value in values if may_be_shown(name)]


def may_be_shown(name: str) -> bool:
    """Whether a field may be shown to the page again: neither a password nor a token of the old page."""
    return "password" not in name and name != "csrfmiddlewaretoken"


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
    typed = [(name, value) for name, value in typed_values(request) if value and name not in PAGE_FIELDS]
    if not getattr(request, "htmx", False):
        return render(request, f"{status}.html", {"typed": typed}, status=status)
    response = render(request, "parts/refused.html", {"status": status}, status=status)
    response.headers["HX-Retarget"] = "#notice"
    response.headers["HX-Reswap"] = "innerHTML"
    return response


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """The answer to a form with an old token, after a sign-in in another tab: a page to send it again.

    Only a form of our own site gets it: another site must not be able to fill in that page.
    """
    own = f"{request.scheme}://{request.get_host()}"
    if request.method == "POST" and request.headers.get("Origin") == own:
        return render_not_saved(request, 403)
    return render(request, "403.html", status=403)
