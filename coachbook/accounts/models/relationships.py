"""How people belong to a student: guardians, the coaches who care for them, and the times they pause."""

from datetime import date
from typing import Self

from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from coachbook.accounts.models.base import Area, Areas, Keyed, some_area
from coachbook.accounts.models.people import Coach, Student, User


class GuardianshipQuerySet(models.QuerySet["Guardianship"]):
    """Guardianships by the day."""

    def in_force(self, on: date) -> Self:
        """Those that nobody has ended; whether the child has come of age is another question (see ties.py)."""
        return self.filter(Q(ended_on=None) | Q(ended_on__gt=on))


class Guardianship(models.Model):
    """A parent or other guardian of a student; a child may have two, a guardian several children."""

    guardian = models.ForeignKey(User, on_delete=models.PROTECT, related_name="guardianships")
    student = models.ForeignKey(Student, on_delete=models.CASCADE, related_name="guardianships")
    ended_on = models.DateField("the first day on which it no longer holds", null=True, blank=True)
    history = HistoricalRecords()

    objects = GuardianshipQuerySet.as_manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["guardian", "student"], name="guardian_once")]

    def __str__(self) -> str:
        return f"{self.guardian} for {self.student}"


class CareQuerySet(models.QuerySet["Care"]):
    """Care by the day."""

    def in_force(self, on: date) -> Self:
        """The care that holds on a day; both its first and its last day count."""
        return self.filter(Q(until=None) | Q(until__gte=on), since__lte=on)


class Care(Areas):
    """A coach's charge of a student, for some areas, from a day until a day."""

    class Role(models.TextChoices):
        MAIN = "main"
        COVER = "cover"
        ASSISTANT = "assistant"

    coach = models.ForeignKey(Coach, on_delete=models.PROTECT, related_name="cares")
    student = models.ForeignKey(Student, on_delete=models.CASCADE, related_name="cares")
    role = models.CharField(max_length=9, choices=Role, default=Role.MAIN)
    since = models.DateField()
    until = models.DateField(null=True, blank=True)
    note = models.TextField("for whoever takes over", blank=True)
    history = HistoricalRecords()

    objects = CareQuerySet.as_manager()

    class Meta:
        ordering = ["-since"]
        constraints = [
            models.CheckConstraint(
                name="care_ends_after_it_begins", condition=Q(until=None) | Q(until__gte=F("since"))
            ),
            models.CheckConstraint(name="care_covers_an_area", condition=some_area()),
        ] + [
            models.UniqueConstraint(
                fields=["student"],
                name=f"one_main_coach_for_{area}",
                condition=Q(role="main", until=None, **{area: True}),
            )
            for area in Area.values
        ]

    def __str__(self) -> str:
        return f"{self.coach} ({self.role}) for {self.student}"


class PauseQuerySet(models.QuerySet["Pause"]):
    """Pauses by the day."""

    def in_force(self, on: date) -> Self:
        """The pauses that hold on a day; both the first and the last day count."""
        return self.filter(Q(until=None) | Q(until__gte=on), since__lte=on)

    def between(self, first: date, last: date) -> Self:
        """The pauses that touch some day of a time."""
        return self.filter(Q(until=None) | Q(until__gte=first), since__lte=last)


class Pause(Keyed):
    """A time in which nobody expects a student: no review is overdue, and they do not count as not seen."""

    class Reason(models.TextChoices):
        INJURY = "injury"
        EXAMS = "exams"
        WINTER = "winter"
        OTHER = "other"

    student = models.ForeignKey(Student, on_delete=models.CASCADE, related_name="pauses")
    reason = models.CharField(max_length=6, choices=Reason, default=Reason.OTHER)
    since = models.DateField()
    until = models.DateField(null=True, blank=True)
    history = HistoricalRecords()

    objects = PauseQuerySet.as_manager()

    class Meta:
        ordering = ["-since"]
        constraints = [
            models.CheckConstraint(
                name="pause_ends_after_it_begins", condition=Q(until=None) | Q(until__gte=F("since"))
            ),
        ]

    def __str__(self) -> str:
        return f"{self.student}, {self.get_reason_display().lower()}"
