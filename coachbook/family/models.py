"""The messages between a student, their guardians and those who teach them."""

from typing import Self

from django.db import models
from django.db.models import Q
from django.utils import timezone
from simple_history.models import HistoricalRecords

from coachbook.accounts.models import KeyedModel, Student, User

MAX_LENGTH = 2000


class MessageQuerySet(models.QuerySet["Message"]):
    """Messages in the order in which they were sent."""

    def latest_first(self) -> Self:
        """The newest first, with their authors."""
        return self.select_related("written_by").order_by("-written_at", "-pk")


class Message(KeyedModel):
    """A message in a student's one thread; sent once, and never changed."""

    student = models.ForeignKey(Student, on_delete=models.PROTECT, related_name="messages")
    written_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    written_at = models.DateTimeField(default=timezone.now, editable=False)
    text = models.CharField(max_length=MAX_LENGTH)
    history = HistoricalRecords()

    objects = MessageQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["student", "-written_at"], name="thread_of_a_student")]
        constraints = [models.CheckConstraint(name="message_has_text", condition=~Q(text=""))]

    def __str__(self) -> str:
        return f"message of {self.written_at:%Y-%m-%d}"
