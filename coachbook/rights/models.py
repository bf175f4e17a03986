"""Erasures that were asked for, and those that were carried out."""

import uuid
from datetime import date, timedelta
from typing import Self

from django.db import models
from django.db.models import Q

from coachbook.accounts.models import KeyedModel, Student, User

GRACE = timedelta(days=30)  # between asking and erasing: so long it can be called off


class ErasureRequestQuerySet(models.QuerySet["ErasureRequest"]):
    """Requests by state."""

    def planned(self) -> Self:
        """Those that nobody called off."""
        return self.filter(called_off_at=None)

    def due(self, on: date) -> Self:
        """Those whose grace is over, and to which a second person agreed where one is needed.

        A record that was merged into another one is erased with that one alone.
        """
        return (
            self.planned()
            .filter(student__merged_into=None)
            .filter(Q(needs_second=False) | Q(agreed_at__isnull=False), due_on__lte=on)
        )


class ErasureRequest(KeyedModel):
    """Somebody asked that everything about a student be erased; the row is erased with the student."""

    student = models.ForeignKey(Student, on_delete=models.PROTECT, related_name="erasure_requests")
    asked_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    asked_at = models.DateTimeField()
    due_on = models.DateField("the first day on which it may be carried out")
    # What a manager asks alone waits for a second person; what the family asks does not.
    needs_second = models.BooleanField(default=False)
    agreed_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    agreed_at = models.DateTimeField(null=True, blank=True)
    called_off_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    called_off_at = models.DateTimeField(null=True, blank=True)

    objects = ErasureRequestQuerySet.as_manager()

    class Meta:
        ordering = ["-asked_at", "-pk"]
        constraints = [
            models.UniqueConstraint(fields=["student"], name="one_planned_erasure", condition=Q(called_off_at=None)),
            models.CheckConstraint(name="nobody_agrees_alone", condition=~Q(agreed_by=models.F("asked_by"))),
            models.CheckConstraint(
                name="called_off_by_somebody",
                condition=Q(called_off_at=None, called_off_by=None)
                | Q(called_off_at__isnull=False, called_off_by__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return f"erasure from {self.due_on}"

    @property
    def waits_for_second(self) -> bool:
        """Whether a second person has to agree first."""
        return self.needs_second and self.agreed_at is None

    def is_due(self, on: date) -> bool:
        """Whether it may be carried out."""
        return self.called_off_at is None and not self.waits_for_second and on >= self.due_on


class Erasure(models.Model):
    """That a student was erased, without anything about them: a restore from an older backup repeats it."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    student_key = models.UUIDField("the random key of the student's address", unique=True)
    erased_at = models.DateTimeField()

    class Meta:
        ordering = ["erased_at", "pk"]

    def __str__(self) -> str:
        return f"erasure of {self.erased_at:%Y-%m-%d}"


class AcademyFile(models.Model):
    """That somebody saved the whole academy as a file, and when; nobody where it was done on the server."""

    by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"the academy as a file, {self.at:%Y-%m-%d}"
