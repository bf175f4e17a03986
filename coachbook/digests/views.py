"""The page on which a person chooses their mails, and the page of a link that switches mails off."""

from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.outgoing import has_mail_server
from coachbook.digests.consents import is_junior_account, kinds_for, switch, switch_off, switched_on
from coachbook.digests.forms import MailsForm
from coachbook.digests.unsubscribe import Order, read_token
from coachbook.forms import render_form
from coachbook.http import Request

PRIVATE = {"Cache-Control": "private, no-store", "X-Robots-Tag": "noindex"}


@require_http_methods(["GET", "POST"])
def mails(request: Request) -> HttpResponse:
    """The kinds that a person may switch on, and which of them are on."""
    gate.require(request, Permission.USE_SITE)
    now = timezone.now()
    today = request.academy.today(now)
    offered = kinds_for(request.user, request.academy, today)
    data = request.POST if request.method == "POST" else None
    form = MailsForm(data, user=request.user, offered=offered, chosen=switched_on(request.user))
    if form.is_valid():
        switch(request.user, form.cleaned_data["kinds"], offered, now)
        messages.success(request, "Saved.")
        return redirect("mails")
    context = {
        "offered": offered,
        "is_junior": is_junior_account(request.user, request.academy, today),
        "has_mail_server": has_mail_server(),
    }
    return render_form(request, "digests/mails.html", form, context)


@csrf_exempt  # RFC 8058: a mail program posts here, without a cookie; the signed address is what it may
@login_not_required
@require_http_methods(["GET", "POST"])
def mails_off(request: HttpRequest, token: str) -> HttpResponse:
    """Switch off what the address was made for; a GET shows a button and changes nothing.

    The answer to a POST is no redirect: RFC 8058, section 3.1.
    """
    order = read_token(token)
    if order is None or is_of_another(request, order):
        return render_private(request, "not_mails_off", 403 if order else 404, {"order": order})
    is_done = request.method == "POST"
    if is_done:
        switch_off(order.person, order.kinds, timezone.now())
    context = {"order": order, "is_one": len(order.kinds) == 1, "is_done": is_done}
    return render_private(request, "mails_off", 200, context)


def render_private(request: HttpRequest, page: str, status: int, context: dict[str, Any]) -> HttpResponse:
    """A page that no cache keeps and no search engine lists."""
    response = render(request, f"digests/{page}.html", context, status=status)
    for name, value in PRIVATE.items():
        response.headers[name] = value
    return response


def is_of_another(request: HttpRequest, order: Order) -> bool:
    """Whether somebody is signed in here to whom the mail was not sent."""
    return request.user.is_authenticated and request.user.pk != order.person.pk
