"""The second factor: required of managers, offered to coaches.

An app with codes that change (TOTP, RFC 6238) or a passkey (WebAuthn), and recovery codes for when both are lost.
"""

import base64
import hashlib
import io
from collections.abc import Callable
from typing import Any

import segno
from allauth.mfa.adapter import DefaultMFAAdapter
from allauth.mfa.models import Authenticator
from allauth.mfa.totp.internal.auth import generate_totp_secret
from cryptography.fernet import Fernet, InvalidToken, MultiFernet
from django.conf import settings
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django_htmx.http import HttpResponseClientRedirect

from coachbook.accounts.models import Academy, SignInChange, User
from coachbook.accounts.notices import record_change
from coachbook.accounts.sessions import end_other_sessions

# What a manager may open before there is a second factor: the pages that add one, and the way out.
SET_UP_PAGES = {
    "mfa_index", "mfa_activate_totp", "mfa_add_webauthn", "mfa_view_recovery_codes", "account_reauthenticate",
    "account_logout",
}  # fmt: skip
FACTORS = [Authenticator.Type.TOTP, Authenticator.Type.WEBAUTHN]


def secrets_key() -> MultiFernet:
    """The keys under which secrets are stored, earlier ones too; a copy of the database alone tells no secret."""
    keys = (settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS)
    digests = [hashlib.sha256(f"second factor {key}".encode()).digest() for key in keys]
    return MultiFernet([Fernet(base64.urlsafe_b64encode(digest)) for digest in digests])


class SecondFactor(DefaultMFAAdapter):
    """Settings of allauth.mfa that are code."""

    error_messages = {
        **DefaultMFAAdapter.error_messages,
        "incorrect_code": "This code is not right. Each works once. Check the phone's clock, and wait for the next.",
    }

    def get_totp_issuer(self) -> str:
        """What the app shows beside the codes."""
        return str(Academy.current())

    def build_totp_svg(self, url: str) -> str:
        """The code to scan, as a file of its own."""
        drawn = io.BytesIO()
        segno.make(url, error="m", micro=False).save(drawn, kind="svg", dark="#000", light="#fff", border=4)
        return drawn.getvalue().decode()

    def encrypt(self, text: str) -> str:
        """A secret as it is stored."""
        return secrets_key().encrypt(text.encode()).decode()

    def decrypt(self, encrypted_text: str) -> str:
        """A stored secret; where SECRET_KEY is another one by now, a secret that nobody has."""
        try:
            return secrets_key().decrypt(encrypted_text.encode()).decode()
        except InvalidToken:
            return str(generate_totp_secret())

    def generate_authenticator_name(self, user: User, type: Authenticator.Type) -> str:
        """The name of a new passkey."""
        return f"Passkey {Authenticator.objects.filter(user=user, type=type).count() + 1}"


class SecondFactorRequired:
    """Lead a manager without a second factor to the page that adds one, whatever was asked for."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Pass on: the view is known later."""
        return self.get_response(request)

    def process_view(self, request: HttpRequest, view: Any, args: Any, kwargs: Any) -> HttpResponseBase | None:
        """Nothing, or the way to the page."""
        user, match = request.user, request.resolver_match
        if not isinstance(user, User) or not user.is_manager or user.has_factor:
            return None
        if not getattr(view, "login_required", True) or (match and match.url_name in SET_UP_PAGES):
            return None
        if getattr(request, "htmx", False):
            return HttpResponseClientRedirect(reverse("mfa_index"))
        return redirect("mfa_index")


def factor_added(request: HttpRequest, user: User, authenticator: Authenticator, **kwargs: Any) -> None:
    """Sign the person out elsewhere, where no second factor was asked for, and let them know."""
    if authenticator.type in FACTORS:
        end_other_sessions(request, user, timezone.now())
        record_change(user, SignInChange.What.FACTOR_ADDED, timezone.now())


def factor_removed(user: User, authenticator: Authenticator, **kwargs: Any) -> None:
    """Let the person know."""
    if authenticator.type in FACTORS:
        record_change(user, SignInChange.What.FACTOR_REMOVED, timezone.now())
