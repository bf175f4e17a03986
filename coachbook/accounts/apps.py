"""People, their accounts and what they may do."""

from typing import Any

from django.apps import AppConfig
from django.http import HttpRequest
from django.utils import timezone


class AccountsConfig(AppConfig):
    """Its label differs from that of allauth, which is `account`."""

    name = "coachbook.accounts"
    label = "accounts"

    def ready(self) -> None:
        """Connect what follows when somebody signs in, or changes how they do."""
        from allauth.account.signals import password_changed, password_reset, password_set
        from allauth.mfa.signals import authenticator_added, authenticator_removed
        from allauth.usersessions.models import UserSession
        from django.contrib.auth.signals import user_logged_in
        from django.db.models.signals import pre_save

        from coachbook.accounts import security_log
        from coachbook.accounts.second_factor import factor_added, factor_removed
        from coachbook.accounts.sessions import begin_session, keep_little

        security_log.connect()

        for changed in (password_changed, password_reset, password_set):
            changed.connect(delete_invitations, dispatch_uid=f"delete_invitations_{id(changed)}")
            changed.connect(note_new_password, dispatch_uid=f"note_new_password_{id(changed)}")
        password_reset.connect(forget_wrong_passwords, dispatch_uid="forget_wrong_passwords")
        user_logged_in.connect(begin_session)
        pre_save.connect(keep_little, sender=UserSession)
        authenticator_added.connect(factor_added)
        authenticator_removed.connect(factor_removed)


def delete_invitations(user: Any, **kwargs: Any) -> None:
    """Delete the invitations that nobody has used: their links would give access to the account."""
    user.invitations.filter(accepted_at=None).delete()


def forget_wrong_passwords(request: HttpRequest, user: Any, **kwargs: Any) -> None:
    """Let somebody sign in at once who proved by mail that the account is theirs."""
    from coachbook.accounts.limits import forget_tries

    for name in filter(None, (user.username, user.email)):
        forget_tries(request, "password", name)


def note_new_password(user: Any, **kwargs: Any) -> None:
    """Let the person know."""
    from coachbook.accounts.models import SignInChange
    from coachbook.accounts.notices import record_change

    record_change(user, SignInChange.What.PASSWORD, timezone.now())
