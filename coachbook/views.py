"""The pages that belong to no room: where a person lands, the appearance, and what went wrong."""

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from coachbook.accounts import gate
from coachbook.accounts.gate import Act
from coachbook.http import Request

OF_THE_PAGE = {"page", "base", "count", "focus"}  # what a log page says of itself; nobody typed it


@require_GET
def home(request: Request) -> HttpResponseRedirect:
    """Send each person to where their day begins."""
    gate.enter(request, Act.ENTER)
    if request.user.is_coach:
        return redirect("students")
    if request.user.is_manager:
        return redirect("caseload")
    if hasattr(request.user, "student"):
        return redirect("today", key=request.user.student.key)
    children = list(gate.students(request)[:2])
    return redirect("today", key=children[0].key) if len(children) == 1 else redirect("students")


@require_GET
def appearance(request: Request) -> HttpResponse:
    """Every token, mark and part of a page in one place, for developers."""
    gate.enter(request, Act.ENTER)
    return render(request, "appearance.html")


def typed_again(request: HttpRequest, status: int, sign_in: str = "") -> HttpResponse:
    """A page that holds all that was typed, to be sent again by the person who typed it."""
    context = {"typed": typed_in(request), "action": request.get_full_path(), "sign_in": sign_in}
    return render(request, "typed_again.html", context, status=status)


def typed_in(request: HttpRequest) -> list[tuple[str, str]]:
    """What was typed, as (name, value)."""
    return [(name, value) for name, values in request.POST.lists() for value in values if is_kept(name)]


def is_kept(name: str) -> bool:
    """Whether a field may be shown to the page again: neither a password nor a token of the old page."""
    return "password" not in name and name != "csrfmiddlewaretoken"


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Nothing here, or nothing that is this person's to see."""
    return refused(request, 404)


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Something that this person may see but not do."""
    return refused(request, 403)


def refused(request: HttpRequest, status: int) -> HttpResponse:
    """Say no; a person who had typed something reads it again, to copy it."""
    typed = [(name, value) for name, value in typed_in(request) if value and name not in OF_THE_PAGE]
    if not getattr(request, "htmx", False):
        return render(request, f"{status}.html", {"typed": typed}, status=status)
    response = render(request, "parts/refused.html", {"status": status}, status=status)
    response.headers["HX-Retarget"] = "#notice"
    response.headers["HX-Reswap"] = "innerHTML"
    return response


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A form from a page that is no longer good, after a sign-in elsewhere: offer what was typed.

    Only a page of our own gets that offer: another site must not be able to put words into it.
    """
    own = f"{request.scheme}://{request.get_host()}"
    if request.method == "POST" and request.headers.get("Origin") == own:
        return typed_again(request, 403)
    return render(request, "403.html", status=403)
