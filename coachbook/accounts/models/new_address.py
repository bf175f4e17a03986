"""An address that somebody wants to add to their account, until a mailed link confirms it."""

from datetime import datetime, timedelta
from typing import Self

from django.db import models

from coachbook.accounts.models.people import User
from coachbook.accounts.tokens import hash_token, new_token

LASTS = timedelta(days=1)


class NewAddressQuerySet(models.QuerySet["NewAddress"]):
    """New addresses by person and token."""

    def waiting(self, at: datetime) -> Self:
        """Those that can still be confirmed."""
        return self.filter(made_at__gt=at - LASTS)


class NewAddress(models.Model):
    """Counts for nothing before its owner opens the link, signed in; a newer one takes its place."""

    user = models.OneToOneField(User, on_delete=models.CASCADE, related_name="new_address")
    email = models.EmailField()
    token_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()

    objects = NewAddressQuerySet.as_manager()

    def __str__(self) -> str:
        return f"new address of {self.user}"

    @classmethod
    def issue(cls, user: User, email: str, at: datetime) -> str:
        """Keep the address in place of the one before it, and return the token, which is not stored."""
        token = new_token()
        values = {"email": email, "token_hash": hash_token(token), "made_at": at}
        cls.objects.update_or_create(user=user, defaults=values)
        return token
