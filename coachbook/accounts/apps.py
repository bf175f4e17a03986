"""People, their accounts and what they may do."""

from typing import Any

from django.apps import AppConfig


class AccountsConfig(AppConfig):
    """Its label differs from that of allauth, which is `account`."""

    name = "coachbook.accounts"
    label = "accounts"

    def ready(self) -> None:
        """Delete unused invitations when a password changes: their links would give access to the account."""
        from allauth.account.signals import password_changed, password_reset, password_set

        for changed in (password_changed, password_reset, password_set):
            changed.connect(delete_invitations, dispatch_uid=f"delete_invitations_{id(changed)}")


def delete_invitations(user: Any, **kwargs: Any) -> None:
    """Delete the invitations that nobody has used."""
    user.invitations.filter(accepted_at=None).delete()
