"""Changes that one person alone may not make: each waits for a second person, and those concerned are notified."""

from datetime import datetime, timedelta
from typing import Any, Self

from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from coachbook.accounts.models import KeyedModel, Student, User
from coachbook.corrections.models.correction import Correction

WAIT = timedelta(days=7)  # where nobody can be asked, the change takes effect by itself after this time


class ApprovalRequestQuerySet(models.QuerySet["ApprovalRequest"]):
    """Requests by state, and by whom and what they concern."""

    def waiting(self) -> Self:
        """Those that nobody has decided, and whose time has not come or has not been noticed yet."""
        return self.filter(outcome="")

    def due(self, at: datetime) -> Self:
        """Those that nobody refused in time."""
        return self.waiting().filter(takes_effect_at__lte=at)

    def with_people(self) -> Self:
        """With everybody whom a page names."""
        return self.select_related("asked_by", "decided_by", "student", "other_student", "person", "correction")

    def about(self, student: Student) -> Self:
        """Those that concern a student, or the student's account."""
        return self.filter(Q(student=student) | Q(other_student=student) | Q(person__student=student))

    def readable_by(self, user: User) -> Self:
        """All for a manager; for others those that they asked, or of which they were notified."""
        notified = ApprovalNotice.objects.filter(person=user).values("request")
        return self if user.is_manager else self.filter(Q(asked_by=user) | Q(pk__in=notified))


class ApprovalRequest(KeyedModel):
    """A change that waits for a second person; `values` is what is asked, `facts` what was stored when it was asked."""

    class Kind(models.TextChoices):
        AGE = "age", "child or adult"
        MERGE = "merge", "merge of a duplicate"
        ACCESS = "access", "new way into an account"
        UNDO = "undo", "undoing of a correction"

    class Outcome(models.TextChoices):
        APPROVED = "approved", "approved"
        REFUSED = "refused", "refused"
        WITHDRAWN = "withdrawn", "withdrawn"
        ELAPSED = "elapsed", "took effect by itself"
        STALE = "stale", "not made, since the facts had changed"

    kind = models.CharField(max_length=6, choices=Kind)
    # A merge keeps `student`, and `other_student` is the duplicate, as on a correction.
    student = models.ForeignKey(Student, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    other_student = models.ForeignKey(Student, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    person = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, blank=True, related_name="+", verbose_name="whose account"
    )
    correction = models.ForeignKey(
        Correction, on_delete=models.PROTECT, null=True, blank=True, related_name="+", verbose_name="what is undone"
    )
    values: "models.JSONField[dict[str, Any], dict[str, Any]]" = models.JSONField(default=dict)
    facts: "models.JSONField[dict[str, Any], dict[str, Any]]" = models.JSONField(default=dict)
    asked_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    asked_at = models.DateTimeField()
    takes_effect_at = models.DateTimeField("when it takes effect by itself", null=True, blank=True)
    outcome = models.CharField(max_length=9, choices=Outcome, blank=True)
    decided_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    decided_at = models.DateTimeField(null=True, blank=True)
    result = models.OneToOneField(
        Correction,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="approval",
        verbose_name="what it made",
    )
    link_made_at = models.DateTimeField("when the link was made", null=True, blank=True)
    history = HistoricalRecords(excluded_fields=["values", "facts"])

    objects = ApprovalRequestQuerySet.as_manager()

    class Meta:
        ordering = ["-asked_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["student", "kind"],
                name="one_waiting_change",
                condition=Q(outcome="", kind__in=("age", "merge")),
            ),
            models.UniqueConstraint(
                fields=["person"], name="one_waiting_access", condition=Q(outcome="", kind="access")
            ),
            models.UniqueConstraint(
                fields=["correction"], name="one_waiting_undo", condition=Q(outcome="", kind="undo")
            ),
            models.CheckConstraint(
                name="approval_of_somebody", condition=Q(student__isnull=False) | Q(person__isnull=False)
            ),
            models.CheckConstraint(
                name="decided_at_some_time",
                condition=Q(outcome="", decided_at=None) | (~Q(outcome="") & Q(decided_at__isnull=False)),
            ),
            models.CheckConstraint(
                name="nobody_approves_alone", condition=~Q(outcome="approved") | ~Q(decided_by=models.F("asked_by"))
            ),
        ]
        indexes = [
            models.Index(fields=["takes_effect_at"], name="approvals_due", condition=Q(outcome="")),
        ]

    def __str__(self) -> str:
        return self.get_kind_display()

    @property
    def is_waiting(self) -> bool:
        """Whether nobody has decided it yet."""
        return not self.outcome

    @property
    def is_made(self) -> bool:
        """Whether the change was made."""
        return self.outcome in (self.Outcome.APPROVED, self.Outcome.ELAPSED)

    def is_due(self, at: datetime) -> bool:
        """Whether its time has come without a refusal."""
        return self.is_waiting and self.takes_effect_at is not None and self.takes_effect_at <= at


class ApprovalNotice(models.Model):
    """Somebody who is notified of a request: on their first page until they have seen it."""

    request = models.ForeignKey(ApprovalRequest, on_delete=models.CASCADE, related_name="notices")
    person = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    seen_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["request", "person"], name="one_notice_a_person")]

    def __str__(self) -> str:
        return f"notice to {self.person}"
