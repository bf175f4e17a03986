"""The forms to sign in, and to choose a password anew by a mailed link."""

from typing import Any

from allauth.account.forms import LoginForm, ResetPasswordKeyForm


class SignInForm(LoginForm):  # type: ignore[misc]  # allauth has no types
    """An address or a user name, and a password."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["login"].label = "E-mail or user name"


class NewPasswordForm(ResetPasswordKeyForm):  # type: ignore[misc]  # allauth has no types
    """A new password, chosen by a mailed link that nobody else saw."""

    def save(self) -> None:
        """Save it; who saw the link of the invitation no longer matters."""
        super().save()
        self.user.link_seen_by = None
        self.user.save(update_fields=["link_seen_by"])
