"""The form to sign in."""

from typing import Any

from allauth.account.forms import LoginForm


class SignInForm(LoginForm):  # type: ignore[misc]  # allauth has no types
    """An address or a user name, and a password."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["login"].label = "E-mail or user name"
