"""Corrections: what was corrected, by whom and when, and every value before and after."""

from datetime import datetime, timedelta
from typing import Any, Self

from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from coachbook.accounts.models import KeyedModel, Student, User
from coachbook.diary.models import Rearrangement
from lessons.models import Lesson

UNDO_PERIOD = timedelta(days=30)


class CorrectionQuerySet(models.QuerySet["Correction"]):
    """Corrections by student, and by date."""

    def latest_first(self) -> Self:
        """The newest first, with the people concerned."""
        return self.select_related(
            "by", "student", "other_student", "person", "undone_by", "approval__decided_by"
        ).order_by("-at", "-pk")

    def about(self, student: Student) -> Self:
        """Corrections that changed something of a student."""
        return self.filter(Q(student=student) | Q(other_student=student))


class Correction(KeyedModel):
    """One correction; `changes` holds every changed field before and after, in the order of the changes."""

    class Kind(models.TextChoices):
        MOVED = "moved", "lesson moved"
        MERGED = "merged", "duplicate merged"
        OPENED = "opened", "focus opened again"
        AGE = "age", "year of birth, or child or adult, changed"
        ACCESS = "access", "new way into an account"
        CARE = "care", "care of a student changed"

    kind = models.CharField(max_length=6, choices=Kind)
    student = models.ForeignKey(
        Student, on_delete=models.PROTECT, null=True, blank=True, related_name="corrections"
    )  # null: the account of somebody who is not taught
    other_student = models.ForeignKey(Student, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    person = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, blank=True, related_name="+", verbose_name="whose account"
    )
    lesson = models.ForeignKey(Lesson, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    summary = models.CharField("what happened", max_length=300)
    changes: "models.JSONField[list[dict[str, Any]], list[dict[str, Any]]]" = models.JSONField(default=list)
    rearrangement = models.OneToOneField(
        Rearrangement,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="correction",
        verbose_name="what became of appointments",
    )
    undone_at = models.DateTimeField(null=True, blank=True)
    undone_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    seen_at = models.DateTimeField("when a manager saw it", null=True, blank=True)
    history = HistoricalRecords(excluded_fields=["changes"])

    objects = CorrectionQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.CheckConstraint(
                name="correction_kind_known",
                condition=Q(kind__in=("moved", "merged", "opened", "age", "access", "care")),
            ),
            models.CheckConstraint(
                name="correction_of_somebody", condition=Q(student__isnull=False) | Q(person__isnull=False)
            ),
            models.CheckConstraint(
                name="undone_by_somebody",
                condition=Q(undone_at=None, undone_by=None) | Q(undone_at__isnull=False, undone_by__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return self.summary

    @property
    def undoable_until(self) -> datetime:
        """The last moment at which it may be undone."""
        return self.at + UNDO_PERIOD

    def may_be_undone(self, at: datetime) -> bool:
        """Whether it is neither undone yet nor too old."""
        return self.undone_at is None and at <= self.undoable_until
