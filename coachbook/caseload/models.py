"""How the list of who needs attention is set up, and what was put off in it."""

from django.db import models
from django.db.models import Q
from django.utils import timezone
from simple_history.models import HistoricalRecords

from coachbook.accounts.models import Student, User
from coachbook.caseload.attention.rules import Kind

KINDS = [str(kind) for kind in Kind]
MAX_NUMBER = 1000


class AttentionRule(models.Model):
    """The number that an academy chose for one reason, or that it leaves the reason out."""

    kind = models.CharField(max_length=12, unique=True, choices=[(kind, kind) for kind in KINDS])
    number = models.PositiveSmallIntegerField()
    is_on = models.BooleanField(default=True)
    history = HistoricalRecords()

    class Meta:
        constraints = [
            models.CheckConstraint(name="attention_rule_known", condition=Q(kind__in=KINDS)),
            models.CheckConstraint(name="attention_rule_possible", condition=Q(number__lte=MAX_NUMBER)),
        ]

    def __str__(self) -> str:
        return f"{self.kind}: {self.number}"


class Snooze(models.Model):
    """One reason of one student that somebody put off until a day, and why."""

    student = models.ForeignKey(Student, on_delete=models.CASCADE, related_name="snoozes")
    kind = models.CharField(max_length=12, choices=[(kind, kind) for kind in KINDS])
    until = models.DateField("the last day on which it is put off")
    why = models.CharField(max_length=200)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        constraints = [models.CheckConstraint(name="snooze_kind_known", condition=Q(kind__in=KINDS))]
        indexes = [models.Index(fields=["student", "until"], name="snoozes_of_a_student")]

    def __str__(self) -> str:
        return f"{self.kind} until {self.until:%Y-%m-%d}"
