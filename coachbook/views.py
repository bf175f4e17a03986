"""The pages that belong to no room: where a person lands, the appearance, and what went wrong."""

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from coachbook.accounts import gate
from coachbook.accounts.gate import Act
from coachbook.http import Request


@require_GET
def home(request: Request) -> HttpResponseRedirect:
    """Send each person to where their day begins."""
    gate.enter(request, Act.ENTER)
    if hasattr(request.user, "student"):
        return redirect("student", key=request.user.student.key)
    return redirect("students")


@require_GET
def appearance(request: Request) -> HttpResponse:
    """Every token, mark and part of a page in one place, for developers."""
    gate.enter(request, Act.ENTER)
    return render(request, "appearance.html")


def typed_again(request: HttpRequest, status: int, sign_in: str = "") -> HttpResponse:
    """A page that holds all that was typed, to be sent again by the person who typed it."""
    typed = [(name, value) for name, values in request.POST.lists() for value in values if is_kept(name)]
    context = {"typed": typed, "action": request.get_full_path(), "sign_in": sign_in}
    return render(request, "typed_again.html", context, status=status)


def is_kept(name: str) -> bool:
    """Whether a field may be shown to the page again: neither a password nor a token of the old page."""
    return "password" not in name and name != "csrfmiddlewaretoken"


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A form from a page that is no longer good, after a sign-in elsewhere: offer what was typed.

    Only a page of our own gets that offer: another site must not be able to put words into it.
    """
    own = f"{request.scheme}://{request.get_host()}"
    if request.method == "POST" and request.headers.get("Origin") == own:
        return typed_again(request, 403)
    return render(request, "403.html", status=403)
