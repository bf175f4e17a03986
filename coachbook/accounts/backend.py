"""Reading the signed-in user on each request."""

from functools import cache

from allauth.account.auth_backends import AuthenticationBackend
from allauth.mfa.models import Authenticator
from django.db.models import Exists, OuterRef, QuerySet

from coachbook.accounts.models import User


@cache
def users_with_profiles() -> QuerySet[User]:
    """All users with their profiles and whether they have a second factor; kept, since every request asks it."""
    factors = Authenticator.objects.filter(user=OuterRef("pk")).exclude(type=Authenticator.Type.RECOVERY_CODES)
    users = User.objects.select_related("coach", "student").annotate(has_factor=Exists(factors))  # type: ignore[no-redef]  # django-stubs make a class of each annotation
    return users.order_by("pk")


class Backend(AuthenticationBackend):
    """Sign-in by e-mail or user name; profiles and the second factor are read with the user, in one query."""

    def get_user(self, user_id: int) -> User | None:
        """The user, unless the account is closed: closing it ends all access at the next request."""
        user = users_with_profiles().filter(pk=user_id).first()
        return user if user and self.user_can_authenticate(user) else None
