"""The forms to sign in, to choose a password anew by a mailed link, and to add a second factor."""

from typing import Any

from allauth.account.forms import LoginForm, ReauthenticateForm, ResetPasswordKeyForm
from allauth.core.internal.cryptokit import normalize_user_code
from allauth.mfa.adapter import get_adapter
from allauth.mfa.base.forms import AuthenticateForm
from allauth.mfa.totp.forms import ActivateTOTPForm
from allauth.mfa.webauthn.forms import AddWebAuthnForm
from django import forms
from django.core.cache import cache

DIGITS = {"autocomplete": "one-time-code", "inputmode": "numeric", "spellcheck": "false"}
CODE_LASTS = 4 * 30  # seconds: longer than any code counts


class SignInForm(LoginForm):
    """An address or a user name, and a password."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["login"].label = "E-mail or user name"


class PasswordAgainForm(ReauthenticateForm):
    """The password, of somebody who is signed in."""

    password = forms.CharField(label="Password", widget=forms.PasswordInput({"autocomplete": "current-password"}))


class FactorForm(AuthenticateForm):
    """The code that is asked for after the password."""

    code = forms.CharField(
        label="Code",
        max_length=60,
        help_text="The six digits in your app, or one of your recovery codes.",
        widget=forms.TextInput(DIGITS),
    )

    def clean_code(self) -> str:
        """The code, unless it was used before: allauth forgets that sooner than the code ends."""
        code: str = super().clean_code()
        if not cache.add(f"used-code:{self.user.pk}:{normalize_user_code(code)}", True, CODE_LASTS):
            raise get_adapter().validation_error("incorrect_code")
        return code


class AddAppForm(ActivateTOTPForm):
    """The first code of a new app."""

    code = forms.CharField(label="Code", max_length=60, widget=forms.TextInput(DIGITS))


class AddPasskeyForm(AddWebAuthnForm):
    """A name for a new passkey, and what the device answered."""

    name = forms.CharField(label="Name of the passkey", help_text="So that you know it later.", max_length=60)
    credential = forms.JSONField(max_length=20_000, widget=forms.HiddenInput({"id": "id_credential"}))


class NewPasswordForm(ResetPasswordKeyForm):
    """A new password, chosen by a mailed link that nobody else saw."""

    def save(self) -> None:
        """Save it; who saw the link of the invitation no longer matters.

        It still does where the address was added from within the account: whoever saw the link could have done that.
        """
        super().save()
        if not self.user.has_added_address:
            self.user.link_seen_by = None
            self.user.save(update_fields=["link_seen_by"])
