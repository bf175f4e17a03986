"""What every request passes: the content security policy, signing in first, the academy's clock."""

import zoneinfo
from collections.abc import Callable
from typing import cast
from urllib.parse import quote

from django.conf import settings
from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render, resolve_url
from django.template.response import TemplateResponse
from django.utils import timezone
from django_htmx.http import HttpResponseClientRedirect

from coachbook.accounts.models import Academy
from coachbook.http import Request
from coachbook.views import typed_again

View = Callable[..., HttpResponseBase]
Handler = Callable[[HttpRequest], HttpResponse]


def content_security_policy(get_response: Handler) -> Handler:
    """Send the policy with every answer that did not set a stricter one of its own."""
    policy = "; ".join(f"{directive} {' '.join(sources)}" for directive, sources in settings.SECURE_CSP.items())

    def middleware(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        response.headers.setdefault("Content-Security-Policy", policy)
        return response

    return middleware


def academy_time(get_response: Handler) -> Handler:
    """Show every time in the academy's zone."""

    def middleware(request: Request) -> HttpResponse:
        if request.user.is_authenticated:
            request.academy = Academy.current()
            with timezone.override(zoneinfo.ZoneInfo(request.academy.time_zone)):
                response = get_response(request)
            response.headers.setdefault("Cache-Control", "private, no-store")  # a shared phone keeps nobody's page
            return response
        return get_response(request)

    return middleware  # type: ignore[return-value]  # every request here carries a user: see http.Request


class BadForms:
    """Answer 422, as our own views do, where a form of allauth's cannot be."""

    def __init__(self, get_response: Handler) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Nothing yet: the form is known once the page is about to be drawn."""
        return self.get_response(request)

    def process_template_response(self, request: HttpRequest, response: TemplateResponse) -> TemplateResponse:
        """Look whether the page comes back with a form in which something is wrong."""
        form = (response.context_data or {}).get("form")
        if request.method == "POST" and response.status_code == 200 and form is not None and form.errors:
            response.status_code = 422
        return response


def htmx_notice(request: HttpRequest, sign_in: str) -> HttpResponse:
    """A link to sign in elsewhere; the page that posted stays as it is, with all that was typed."""
    response = render(request, "parts/signed_out.html", {"sign_in": sign_in}, status=401)
    response.headers["HX-Retarget"] = "#notice"
    response.headers["HX-Reswap"] = "innerHTML"
    return response


class SignInFirst(LoginRequiredMiddleware):
    """Deny by default, and never throw away what was typed by a person whose sign-in ran out."""

    def handle_no_permission(self, request: HttpRequest, view_func: View) -> HttpResponse:  # type: ignore[override]  # 401, too
        """The sign-in page for a GET; for a POST a page (or, under htmx, a notice) that keeps the words."""
        sign_in = resolve_url(self.get_login_url(view_func))
        htmx = cast(Request, request).htmx
        if request.method == "POST":
            return htmx_notice(request, sign_in) if htmx else typed_again(request, 401, sign_in)
        if htmx:
            return HttpResponseClientRedirect(f"{sign_in}?next={quote(htmx.current_url_abs_path or '/')}")
        return super().handle_no_permission(request, view_func)
