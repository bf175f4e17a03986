"""What somebody was allowed: consent for a purpose, and an invitation to come in."""

import hashlib
import secrets
from datetime import datetime, timedelta
from typing import Self

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone
from simple_history.models import HistoricalRecords

from coachbook.accounts.models.people import Student, User


class Consent(models.Model):
    """A permission given for one purpose, with the very words that were shown; withdrawn, never deleted."""

    class Purpose(models.TextChoices):
        PHOTOS = "photos", "taking and keeping pictures"
        EMAIL = "email", "sending e-mail"
        SHARING = "sharing", "sharing the record with a second coach"

    student = models.ForeignKey(Student, on_delete=models.CASCADE, related_name="consents")
    purpose = models.CharField(max_length=8, choices=Purpose)
    given_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    given_at = models.DateTimeField(default=timezone.now)
    text_shown = models.TextField()
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    history = HistoricalRecords()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["student", "purpose"], name="one_standing_consent", condition=Q(withdrawn_at=None)
            ),
            models.CheckConstraint(name="consent_shows_its_text", condition=~Q(text_shown="")),
        ]

    def __str__(self) -> str:
        return f"{self.get_purpose_display()} for {self.student}"


class InvitationQuerySet(models.QuerySet["Invitation"]):
    """Invitations by their token."""

    def usable(self, token: str, at: datetime) -> Self:
        """The invitation that this token opens, if it is neither used nor too old."""
        return self.filter(token_hash=hashed(token), accepted_at=None, expires_at__gt=at).select_related("user")


class Invitation(models.Model):
    """A way in for one person, once. Only a hash of its token is kept."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="invitations")
    invited_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    token_hash = models.CharField(max_length=64, unique=True)
    code_hash = models.CharField("of the short code, where one was printed", max_length=128, blank=True)
    expires_at = models.DateTimeField()
    accepted_at = models.DateTimeField(null=True, blank=True)

    objects = InvitationQuerySet.as_manager()

    def __str__(self) -> str:
        return f"invitation for {self.user}"

    @classmethod
    def issue(cls, user: User, *, by: User, at: datetime) -> str:
        """Make a fresh invitation, end the older ones, and return the token, which is not kept."""
        token = secrets.token_urlsafe(32)
        user.invitations.filter(accepted_at=None, expires_at__gt=at).update(expires_at=at)
        expires = at + timedelta(days=settings.INVITATION_DAYS)
        cls.objects.create(user=user, invited_by=by, token_hash=hashed(token), expires_at=expires)
        return token


def hashed(token: str) -> str:
    """What is kept of a token: it has 256 random bits, so a plain hash cannot be guessed back."""
    return hashlib.sha256(token.encode()).hexdigest()
