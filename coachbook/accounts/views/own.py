"""The pages of a person's own account: what it holds, a new address, the size of the text."""

from collections.abc import Callable, Mapping
from typing import Any

from allauth.account.decorators import reauthentication_required
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from coachbook.accounts import gate
from coachbook.accounts.addresses import ask_for_address, confirm_address, find_new_address, waiting_address
from coachbook.accounts.forms import AddressForm
from coachbook.accounts.gate import Permission
from coachbook.accounts.limits import TooManyTries, count_try
from coachbook.accounts.models import Area, Side, Student
from coachbook.accounts.outgoing import has_mail_server
from coachbook.forms import render_form
from coachbook.http import Request

CHANGES = 10
View = Callable[[Request], HttpResponse]
after_the_password: Callable[[View], View] = reauthentication_required  # allauth's, which has no types
NOT_SENT = "The e-mail could not be sent. Check the address, and try again later."
PLAYS = {Area.PUTTING: "putt", Area.CHIPPING: "chip", Area.PITCHING: "pitch", Area.BUNKER: "play bunkers"}


@require_GET
def account(request: Request) -> HttpResponse:
    """Address, password, second factor, devices, text, and what changed lately in how this person signs in."""
    gate.require(request, Permission.USE_SITE)
    context = {
        "changes": request.user.sign_in_changes.all()[:CHANGES],
        "has_calendar": gate.get_students(request, Permission.REPORT_PRACTICE).exists(),
        "offers_factor": request.user.is_manager or request.user.is_coach or request.user.has_factor,
        "new_address": waiting_address(request.user, timezone.now()),
        "sides": sides_in_words(getattr(request.user, "student", None)),
    }
    return render(request, "accounts/account.html", context)


def sides_in_words(student: Student | None) -> list[tuple[str, Side]]:
    """What a student plays from each side: "putt and chip" from the left; nothing for who is no student."""
    found: Mapping[Area, Side] = student.sides if student else {}
    plays = {side: [PLAYS[area] for area in found if found[area] == side] for side in Side}
    return [(in_a_row(words), side) for side, words in plays.items() if words]


def in_a_row(words: list[str]) -> str:
    """Words one after the other: "putt, chip and pitch"."""
    *firsts, last = words
    return f"{', '.join(firsts)} and {last}" if firsts else last


@require_POST
def text_size(request: Request) -> HttpResponse:
    """Large text on every page, or the usual size again."""
    gate.require(request, Permission.USE_SITE)
    request.user.large_text = request.POST.get("size") == "large"
    request.user.save(update_fields=["large_text"])
    return redirect("account")


@require_http_methods(["GET", "POST"])
@after_the_password
def address(request: Request) -> HttpResponse:
    """Ask for a new address; it counts once the link that is mailed there was opened."""
    gate.require(request, Permission.USE_SITE)
    form = AddressForm(request.POST if request.method == "POST" else None, user=request.user)
    if has_mail_server() and form.is_valid() and is_mailed(request, form):
        words = f"We mailed a link to {form.cleaned_data['email']}. Open it on this device: the address then counts."
        messages.success(request, words)
        return redirect("account")
    return render_form(request, "accounts/address.html", form)


def is_mailed(request: Request, form: AddressForm) -> bool:
    """Whether the link went out; if not, the form says why."""
    try:
        count_try(request, "address", request.user.username)
    except TooManyTries as refusal:
        form.add_error("email", str(refusal))
        return False
    if not ask_for_address(request, request.user, form.cleaned_data["email"], timezone.now()):
        form.add_error("email", NOT_SENT)
        return False
    return True


@require_http_methods(["GET", "POST"])
def address_confirm(request: Request, token: str) -> HttpResponse:
    """Use the new address: a button, since a mail program may open links by itself."""
    gate.require(request, Permission.USE_SITE)
    now = timezone.now()
    new = find_new_address(request.user, token, now)
    if new and request.method == "POST" and confirm_address(new, request.user, now):
        messages.success(request, "Your new address counts from now on.")
        return redirect("account")
    is_open: dict[str, Any] = {"new": new if request.method == "GET" else None}
    return render(request, "accounts/address_confirm.html", is_open, status=200 if is_open["new"] else 404)
