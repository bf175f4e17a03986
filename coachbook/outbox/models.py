"""The keys of entries that were answered."""

import uuid

from django.db import models

from coachbook.accounts.models import User


class Receipt(models.Model):
    """An entry of somebody's outbox that took effect, and the page to which it led; kept for `KEPT` days."""

    key = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    person = models.ForeignKey(User, on_delete=models.CASCADE, related_name="receipts")
    to = models.CharField(max_length=400, blank=True)
    at = models.DateTimeField(db_index=True)

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"receipt of {self.at:%Y-%m-%d}"
