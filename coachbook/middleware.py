"""Middleware: the policies of every answer, the required sign-in, the academy's time zone, the status of forms."""

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
from django_htmx.middleware import HtmxDetails

from coachbook.accounts.models import Academy, store_record_views
from coachbook.http import Request
from coachbook.views import render_not_saved

View = Callable[..., HttpResponseBase]
Handler = Callable[[HttpRequest], HttpResponse]
SHOWN = (200, 201, 422)  # answers that show a page, an invalid form among them


def permissions_policy(*used: str) -> str:
    """What a page may not ask the browser for; a page that uses some of it names that, for itself alone."""
    return ", ".join(f"{feature}=({'self' if feature in used else ''})" for feature in settings.FEATURES_NOT_USED)


def security_headers(get_response: Handler) -> Handler:
    """Send with every response the policies that it has not of its own."""
    policies = {
        "Content-Security-Policy": "; ".join(
            f"{name} {' '.join(sources)}" for name, sources in settings.SECURE_CSP.items()
        ),
        "Permissions-Policy": permissions_policy(),
        "Cross-Origin-Resource-Policy": "same-origin",
    }

    def middleware(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        for name, policy in policies.items():
            response.headers.setdefault(name, policy)
        return response

    return middleware


def academy_time_zone(get_response: Handler) -> Handler:
    """Show all times in the academy's time zone."""

    def middleware(request: Request) -> HttpResponse:
        if request.user.is_authenticated:
            request.academy = Academy.current()
            with timezone.override(zoneinfo.ZoneInfo(request.academy.time_zone)):
                response = get_response(request)
            response.headers.setdefault("Cache-Control", "private, no-store")  # so that a shared phone keeps no page
            return response
        return get_response(request)

    return middleware  # type: ignore[return-value]  # every request here carries a user: see http.Request


def record_views(get_response: Handler) -> Handler:
    """Store that a manager read a junior's record, once the answer is there: the one thing that is written on a GET."""

    def middleware(request: Request) -> HttpResponse:
        request.juniors_read = []
        response = get_response(request)
        match = request.resolver_match
        if request.juniors_read and match and response.status_code in SHOWN:
            now = timezone.now()
            day, page = request.academy.today(now), match.url_name or ""
            store_record_views(manager=request.user, students=request.juniors_read, page=page, day=day, at=now)
        return response

    return middleware  # type: ignore[return-value]  # every request here carries a user: see http.Request


class InvalidFormStatus:
    """Answer with status 422, as our own views do, where a form of allauth is invalid."""

    def __init__(self, get_response: Handler) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Pass on: the form is known only when its template is about to be rendered."""
        return self.get_response(request)

    def process_template_response(self, request: HttpRequest, response: TemplateResponse) -> TemplateResponse:
        """Set the status if the page contains an invalid form."""
        context = response.context_data or {}
        forms = [form for name in ("form", "webauthn_form") if (form := context.get(name)) is not None]
        if request.method == "POST" and response.status_code == 200 and any(form.errors for form in forms):
            response.status_code = 422
        return response


def htmx_notice(request: HttpRequest, sign_in: str) -> HttpResponse:
    """A notice with a link to sign in in another tab; the page itself stays, with everything typed."""
    response = render(request, "parts/signed_out.html", {"sign_in": sign_in}, status=401)
    response.headers["HX-Retarget"] = "#notice"
    response.headers["HX-Reswap"] = "innerHTML"
    return response


def current_path(htmx: HtmxDetails) -> str:
    """The path of the page that sent a request, or the first page where the header names none of ours."""
    try:
        return htmx.current_url_abs_path or "/"
    except ValueError:  # what stands there is no address
        return "/"


class SignInRequired(LoginRequiredMiddleware):
    """Deny by default; what a person typed whose sign-in has expired is not lost."""

    def handle_no_permission(self, request: HttpRequest, view_func: View) -> HttpResponse:  # type: ignore[override]  # 401, too
        """The sign-in page for a GET; for a POST a page, or with htmx a notice, that keeps what was typed."""
        sign_in = resolve_url(self.get_login_url(view_func))
        htmx = cast(Request, request).htmx
        if request.method == "POST":
            return htmx_notice(request, sign_in) if htmx else render_not_saved(request, 401, sign_in)
        if htmx:
            return HttpResponseClientRedirect(f"{sign_in}?next={quote(current_path(htmx))}")
        return super().handle_no_permission(request, view_func)
