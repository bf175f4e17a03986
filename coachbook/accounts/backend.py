"""How a person's row is fetched on each request."""

from allauth.account.auth_backends import AuthenticationBackend

from coachbook.accounts.models import User


class Backend(AuthenticationBackend):  # type: ignore[misc]  # allauth has no types
    """Sign-in by e-mail or user name; the profiles come along, so that no page asks for them again."""

    def get_user(self, user_id: int) -> User | None:
        """The person, unless the account was closed: that ends what they could do at the next request."""
        user = User.objects.select_related("coach", "student").filter(pk=user_id).first()
        return user if user and self.user_can_authenticate(user) else None
