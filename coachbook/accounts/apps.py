"""People, their accounts and what they may do."""

from typing import Any

from django.apps import AppConfig
from django.http import HttpRequest


class AccountsConfig(AppConfig):
    """Its label differs from that of allauth, which is `account`."""

    name = "coachbook.accounts"
    label = "accounts"

    def ready(self) -> None:
        """Delete unused invitations when a password changes: their links would give access to the account."""
        from allauth.account.signals import password_changed, password_reset, password_set

        for changed in (password_changed, password_reset, password_set):
            changed.connect(delete_invitations, dispatch_uid=f"delete_invitations_{id(changed)}")
        password_reset.connect(forget_wrong_passwords, dispatch_uid="forget_wrong_passwords")


def delete_invitations(user: Any, **kwargs: Any) -> None:
    """Delete the invitations that nobody has used."""
    user.invitations.filter(accepted_at=None).delete()


def forget_wrong_passwords(request: HttpRequest, user: Any, **kwargs: Any) -> None:
    """Let somebody sign in at once who proved by mail that the account is theirs."""
    from coachbook.accounts.limits import forget_tries

    for name in filter(None, (user.username, user.email)):
        forget_tries(request, "password", name)
