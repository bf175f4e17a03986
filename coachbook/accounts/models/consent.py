"""Consent, given for one purpose and withdrawn."""

from django.db import models
from django.db.models import Q
from django.utils import timezone
from simple_history.models import HistoricalRecords

from coachbook.accounts.models.people import Student, User


class Consent(models.Model):
    """Consent for one purpose, with the very text that was shown; withdrawn, never deleted."""

    class Purpose(models.TextChoices):
        PHOTOS = "photos", "taking pictures"
        EMAIL = "email", "sending e-mail"  # asked no more: people choose their own e-mail; what was given stays
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
