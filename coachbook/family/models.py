"""The messages between a student, their guardians and those who teach them, and how far each has read."""

from typing import Self

from django.db import models
from django.db.models import Q
from django.utils import timezone
from simple_history.models import HistoricalRecords

from coachbook.accounts.models import KeyedModel, Student, User
from drills.models import PracticeEntry

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
    answers = models.ForeignKey(
        PracticeEntry,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="answers",
        verbose_name="the report from home that it answers",
    )
    history = HistoricalRecords()

    objects = MessageQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["student", "-written_at"], name="thread_of_a_student")]
        constraints = [models.CheckConstraint(name="message_has_text", condition=~Q(text=""))]

    def __str__(self) -> str:
        return f"message of {self.written_at:%Y-%m-%d}"


class ThreadReading(models.Model):
    """How far one person has read a student's thread: the last message and the last note from home that they saw."""

    reader = models.ForeignKey(User, on_delete=models.CASCADE, related_name="thread_readings")
    student = models.ForeignKey(Student, on_delete=models.CASCADE, related_name="thread_readings")
    last_message = models.BigIntegerField("the row number of a message", default=0)
    last_note = models.BigIntegerField("the row number of a practice entry", default=0)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["reader", "student"], name="one_reading_a_reader")]

    def __str__(self) -> str:
        return f"read to message {self.last_message}, note {self.last_note}"
