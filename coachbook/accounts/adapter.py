"""Settings of allauth that are code: there is no sign-up."""

from allauth.account.adapter import DefaultAccountAdapter
from django.http import HttpRequest


class InvitationOnly(DefaultAccountAdapter):  # type: ignore[misc]  # allauth has no types
    """Accounts begin with an invitation, never with a form for anyone."""

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        """No."""
        return False
