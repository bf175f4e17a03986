"""The room of people and of the one gate."""

from typing import Any

from django.apps import AppConfig


class AccountsConfig(AppConfig):
    """Its label is not allauth's, which is `account`."""

    name = "coachbook.accounts"
    label = "accounts"

    def ready(self) -> None:
        """End the open invitations of whoever chose a new password: a link is a key to the account."""
        from allauth.account.signals import password_changed, password_reset, password_set

        for changed in (password_changed, password_reset, password_set):
            changed.connect(end_invitations, dispatch_uid=f"end_invitations_{id(changed)}")


def end_invitations(user: Any, **kwargs: Any) -> None:
    """Delete the invitations that nobody has used."""
    user.invitations.filter(accepted_at=None).delete()
