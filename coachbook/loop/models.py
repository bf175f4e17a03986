"""The take-home sheet as it was issued."""

from typing import Any, Self

from django.db import models
from django.db.models import OuterRef, Q, Subquery
from django.utils import timezone
from simple_history.models import HistoricalRecords

from coachbook.accounts.models import KeyedModel, Student
from lessons.models import Lesson


class SheetQuerySet(models.QuerySet["Sheet"]):
    """Sheets by whose they are, and whether they are valid."""

    def of(self, student: Student) -> Self:
        """Those of a student's finished lessons."""
        return self.filter(lesson__student=student, lesson__status=Lesson.Status.COMPLETE)

    def valid(self) -> Self:
        """Those not voided."""
        return self.filter(voided_at=None)


class Sheet(KeyedModel):
    """The sheet a student took home. Its words never change: a new issue is a new row."""

    lesson = models.ForeignKey(Lesson, on_delete=models.PROTECT, related_name="sheets")
    content: "models.JSONField[dict[str, Any], dict[str, Any]]" = models.JSONField(editable=False)
    issued_at = models.DateTimeField(default=timezone.now, editable=False)
    voided_at = models.DateTimeField(null=True, blank=True)
    void_reason = models.CharField(max_length=120, blank=True)
    history = HistoricalRecords()

    objects = SheetQuerySet.as_manager()

    class Meta:
        ordering = ["-issued_at"]
        constraints = [
            models.CheckConstraint(name="void_has_a_reason", condition=Q(voided_at=None) | ~Q(void_reason="")),
            models.UniqueConstraint(fields=["lesson"], name="one_standing_sheet_a_lesson", condition=Q(voided_at=None)),
        ]

    def __str__(self) -> str:
        return f"sheet of {self.issued_at:%Y-%m-%d}"


def valid_sheet_key() -> Subquery:
    """The key of a lesson's valid sheet, of which the database allows one, to annotate lessons with."""
    return Subquery(Sheet.objects.valid().filter(lesson=OuterRef("pk")).values("key"))
