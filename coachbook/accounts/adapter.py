"""Settings of allauth that are code: there is no sign-up, and wrong passwords are counted by our own limits."""

import time
from typing import Any
from urllib.parse import quote

from allauth.account.adapter import DefaultAccountAdapter
from allauth.account.app_settings import REAUTHENTICATION_TIMEOUT
from allauth.account.internal.flows.login import AUTHENTICATION_METHODS_SESSION_KEY
from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponseBase
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.devices import remember_device
from coachbook.accounts.limits import TooManyTries, count_try
from coachbook.accounts.notices import show_changes
from coachbook.accounts.outgoing import has_mail_server
from coachbook.http import mailed_link

RESET = "If you forgot your password, choose a new password by e-mail: that works at once."


class InvitationOnly(DefaultAccountAdapter):
    """Accounts begin with an invitation, never with a form for anyone."""

    error_messages = {
        **DefaultAccountAdapter.error_messages,
        **dict.fromkeys(["too_many_login_attempts", "rate_limited"], str(TooManyTries("five minutes"))),
    }

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        """No."""
        return False

    def pre_authenticate(self, request: HttpRequest, **credentials: Any) -> None:
        """Count a try to sign in, or say how long to wait."""
        name = credentials.get("email") or credentials.get("username") or ""
        try:
            self.counted = count_try(request, "password", name)
        except TooManyTries as refusal:
            raise ValidationError(f"{refusal} {RESET}" if has_mail_server() else str(refusal)) from None

    def _rollback_login_failed_rl_usage(self) -> None:
        """Take the try off the counts: the password was right."""
        for usage in self.counted:
            usage.rollback()

    def get_reset_password_from_key_url(self, key: str) -> str:
        """The link of the mail, under the site's own address."""
        path = reverse("account_reset_password_from_key", kwargs={"uidb36": "UID", "key": "KEY"})
        return mailed_link(self.request, path.replace("UID-KEY", quote(key)))

    def post_login(self, request: HttpRequest, user: AbstractBaseUser, **hooks: Any) -> HttpResponseBase:
        """Let the device be known from now on, and show what changed since the last sign-in."""
        response: HttpResponseBase = super().post_login(request, user, **hooks)
        show_changes(request, user, timezone.now())  # type: ignore[arg-type]  # our one user model
        remember_device(request, response, user)  # type: ignore[arg-type]  # the same
        return response

    def is_reauthentication_required(self, *, app: str, **kwargs: Any) -> bool:
        """Whether the password is asked for again: not in the first minutes after it was typed."""
        records = self.request.session.get(AUTHENTICATION_METHODS_SESSION_KEY, [])
        return all(time.time() - record["at"] > REAUTHENTICATION_TIMEOUT for record in records)
