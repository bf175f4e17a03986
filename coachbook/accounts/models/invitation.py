"""Invitations, by which an account is opened."""

from datetime import datetime, timedelta
from typing import Self

from django.conf import settings
from django.db import models

from coachbook.accounts.models.people import User
from coachbook.accounts.tokens import hash_token, new_token


class InvitationQuerySet(models.QuerySet["Invitation"]):
    """Invitations by their token."""

    def usable(self, token: str, at: datetime) -> Self:
        """The invitation with this token, if it is neither used nor expired."""
        return self.filter(token_hash=hash_token(token), accepted_at=None, expires_at__gt=at).select_related("user")


class Invitation(models.Model):
    """Lets one person choose a password, once. Only a hash of its token is stored."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="invitations")
    invited_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    shown_to = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, blank=True, related_name="+", verbose_name="who saw its link or code"
    )
    token_hash = models.CharField(max_length=64, unique=True)
    code_hash = models.CharField("of the one-time code, where one was printed", max_length=128, blank=True)
    expires_at = models.DateTimeField()
    accepted_at = models.DateTimeField(null=True, blank=True)

    objects = InvitationQuerySet.as_manager()

    def __str__(self) -> str:
        return f"invitation for {self.user}"

    @classmethod
    def record_shown(cls, token: str, to: User) -> None:
        """Record who saw the link or the code of the invitation with this token."""
        cls.objects.filter(token_hash=hash_token(token)).update(shown_to=to)

    @classmethod
    def issue(cls, user: User, *, by: User, at: datetime) -> str:
        """Create an invitation, expire the older ones, and return the token, which is not stored."""
        token = new_token()
        user.invitations.filter(accepted_at=None, expires_at__gt=at).update(expires_at=at)
        expires = at + timedelta(days=settings.INVITATION_DAYS)
        cls.objects.create(user=user, invited_by=by, token_hash=hash_token(token), expires_at=expires)
        return token
