"""Reading the signed-in user on each request."""

from allauth.account.auth_backends import AuthenticationBackend

from coachbook.accounts.models import User


class Backend(AuthenticationBackend):  # type: ignore[misc]  # allauth has no types
    """Sign-in by e-mail or user name; profiles are read together with the user, in one query."""

    def get_user(self, user_id: int) -> User | None:
        """The user, unless the account is closed: closing it ends all access at the next request."""
        user = User.objects.select_related("coach", "student").filter(pk=user_id).first()
        return user if user and self.user_can_authenticate(user) else None
