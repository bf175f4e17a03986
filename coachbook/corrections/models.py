"""What was put right, by whom and when, and what each row said before."""

from datetime import datetime, timedelta
from typing import Any, Self

from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from coachbook.accounts.models import Keyed, Student, User
from lessons.models import Lesson

UNDOABLE = timedelta(days=30)


class AmendmentQuerySet(models.QuerySet["Amendment"]):
    """Amendments in the order in which they were made."""

    def latest_first(self) -> Self:
        """The newest first, with the people in them."""
        return self.select_related("by", "student", "other_student", "undone_by").order_by("-at", "-pk")

    def about(self, student: Student) -> Self:
        """Those that changed something of a student's."""
        return self.filter(Q(student=student) | Q(other_student=student))


class Amendment(Keyed):
    """One mistake put right; `changes` holds every field before and after, in the order in which they changed."""

    class Kind(models.TextChoices):
        MOVED = "moved", "lesson moved"
        MERGED = "merged", "two pages made one"
        OPENED = "opened", "focus opened again"

    kind = models.CharField(max_length=6, choices=Kind)
    student = models.ForeignKey(Student, on_delete=models.PROTECT, related_name="amendments")
    other_student = models.ForeignKey(Student, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    lesson = models.ForeignKey(Lesson, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    words = models.CharField("what happened", max_length=300)
    changes: "models.JSONField[list[dict[str, Any]], list[dict[str, Any]]]" = models.JSONField(default=list)
    undone_at = models.DateTimeField(null=True, blank=True)
    undone_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    seen_at = models.DateTimeField("when a manager saw it", null=True, blank=True)
    history = HistoricalRecords(excluded_fields=["changes"])

    objects = AmendmentQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.CheckConstraint(name="amendment_kind_known", condition=Q(kind__in=("moved", "merged", "opened"))),
            models.CheckConstraint(
                name="undone_by_somebody",
                condition=Q(undone_at=None, undone_by=None) | Q(undone_at__isnull=False, undone_by__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return self.words

    @property
    def undoable_until(self) -> datetime:
        """The moment up to which it may be undone."""
        return self.at + UNDOABLE

    def may_be_undone(self, at: datetime) -> bool:
        """Whether it stands and is not too old."""
        return self.undone_at is None and at <= self.undoable_until
