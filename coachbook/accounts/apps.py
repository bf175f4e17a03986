"""People, their accounts and what they may do."""

from typing import Any

from django.apps import AppConfig


class AccountsConfig(AppConfig):
    """Its label differs from that of allauth, which is `account`."""

    name = "coachbook.accounts"
    label = "accounts"

    def ready(self) -> None:
        """Log who signs in; delete unused invitations when a password changes: their links would give access."""
        from allauth.account.signals import password_changed, password_reset, password_set

        from coachbook.accounts import security_log

        security_log.connect()

        for changed in (password_changed, password_reset, password_set):
            changed.connect(delete_invitations, dispatch_uid=f"delete_invitations_{id(changed)}")


def delete_invitations(user: Any, **kwargs: Any) -> None:
    """Delete the invitations that nobody has used."""
    user.invitations.filter(accepted_at=None).delete()
