"""What each person switched on, and the digest of each day: whether it was sent, and to whom it could not be."""

from datetime import datetime
from typing import Self

from django.db import models
from django.db.models import Max, Q

from coachbook.accounts.models import User


class Kind(models.TextChoices):
    """What a digest counts."""

    MESSAGES = "messages", "messages that you have not read"
    NOTES = "notes", "notes that come with practice"
    ABSENCES = "absences", "reports that a student cannot come"
    SHEETS = "sheets", "new practice sheets"
    CHANGES = "changes", "lessons that are planned, moved or cancelled"
    TOMORROW = "tomorrow", "lessons tomorrow"
    PRACTICE = "practice", "practice days today"


class DigestConsent(models.Model):
    """One kind that a person switched on, with the very text that was shown; ended, never deleted."""

    person = models.ForeignKey(User, on_delete=models.CASCADE, related_name="digest_consents")
    kind = models.CharField(max_length=8, choices=Kind)
    text_shown = models.CharField(max_length=300)
    given_at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["person", "kind"], name="one_digest_consent_a_kind", condition=Q(withdrawn_at=None)
            ),
            models.CheckConstraint(name="digest_consent_kind_known", condition=Q(kind__in=Kind.values)),
            models.CheckConstraint(name="digest_consent_shows_its_text", condition=~Q(text_shown="")),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} for {self.person}"


class DigestQuerySet(models.QuerySet["Digest"]):
    """Digests by what became of them."""

    def kept(self) -> Self:
        """Those that could not be sent, and are tried again."""
        return self.filter(state__in=KEPT)

    def last_sent(self) -> dict[int, datetime]:
        """Up to which moment each person (their id) was sent a digest."""
        sent = self.filter(state=Digest.State.SENT).order_by().values("person").annotate(last=Max("at"))
        return dict(sent.values_list("person", "last"))


class Digest(models.Model):
    """The one digest of a person and day. There is a row before the mail goes out: see sending.py."""

    class State(models.TextChoices):
        SENDING = "sending", "handed to the mail server, which has not answered"
        SENT = "sent"
        FAILED = "failed", "not sent: the mail server does not take it"
        REFUSED = "refused", "not sent: the mail server refuses the address"

    person = models.ForeignKey(User, on_delete=models.CASCADE, related_name="digests")
    day = models.DateField("the academy's day")
    at = models.DateTimeField("up to which moment it counts")
    state = models.CharField(max_length=7, choices=State)

    objects = DigestQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["person", "day"], name="one_digest_a_person_and_day"),
            models.CheckConstraint(
                name="digest_state_known", condition=Q(state__in=("sending", "sent", "failed", "refused"))
            ),
        ]

    def __str__(self) -> str:
        return f"digest of {self.day}"


KEPT = (Digest.State.FAILED, Digest.State.REFUSED)
