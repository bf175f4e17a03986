"""What belongs to a student: guardians, coaches, and the times in which the student pauses."""

from datetime import date
from typing import Self

from django.db import models
from django.db.models import F, FilteredRelation, Prefetch, Q
from simple_history.models import HistoricalRecords

from coachbook.accounts.models.base import Area, AreaFlags, KeyedModel, covers_an_area
from coachbook.accounts.models.people import Coach, Student, StudentQuerySet, User


class GuardianshipQuerySet(models.QuerySet["Guardianship"]):
    """Guardianships by day."""

    def in_force(self, on: date) -> Self:
        """Those that nobody has ended; `accounts/relationships.py` also asks whether the child has come of age."""
        return self.filter(Q(ended_on=None) | Q(ended_on__gt=on))


class Guardianship(models.Model):
    """A parent or other guardian of a student; a child may have two, a guardian several children."""

    guardian = models.ForeignKey(User, on_delete=models.PROTECT, related_name="guardianships")
    student = models.ForeignKey(Student, on_delete=models.CASCADE, related_name="guardianships")
    made_by = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, blank=True, editable=False, related_name="+", verbose_name="added by"
    )
    ended_on = models.DateField("the first day on which it no longer holds", null=True, blank=True)
    history = HistoricalRecords()

    objects = GuardianshipQuerySet.as_manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["guardian", "student"], name="guardian_once")]

    def __str__(self) -> str:
        return f"{self.guardian} for {self.student}"


class CareQuerySet(models.QuerySet["Care"]):
    """Care by day."""

    def in_force(self, on: date) -> Self:
        """The care that is in force on a day; both its first and its last day count."""
        return self.filter(Q(until=None) | Q(until__gte=on), since__lte=on)

    def reaching(self, on: date) -> Self:
        """The care that is in force on a day or on a later one."""
        return self.filter(Q(until=None) | Q(until__gte=on))


class Care(AreaFlags):
    """A coach who teaches a student, for some areas, from one day to another."""

    class Role(models.TextChoices):
        MAIN = "main", "main"
        COVER = "cover", "covering"
        ASSISTANT = "assistant", "assistant"

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
            models.CheckConstraint(name="care_covers_an_area", condition=covers_an_area()),
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
    """Pauses by day."""

    def in_force(self, on: date) -> Self:
        """The pauses on a day; both the first and the last day count."""
        return self.filter(Q(until=None) | Q(until__gte=on), since__lte=on)

    def between(self, first: date, last: date) -> Self:
        """The pauses that include any day from the first to the last."""
        return self.filter(Q(until=None) | Q(until__gte=first), since__lte=last)


class Pause(KeyedModel):
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


def pauses_and_guardians(student: Student, on: date) -> tuple[list[Pause], list[str]]:
    """The pauses of a student on a day and the names of the guardians, in one query."""
    begun = Q(pauses__since__lte=on) & (Q(pauses__until=None) | Q(pauses__until__gte=on))
    kept = Q(guardianships__ended_on=None) | Q(guardianships__ended_on__gt=on)
    rows = Student.objects.filter(pk=student.pk).annotate(
        pause=FilteredRelation("pauses", condition=begun), guardian=FilteredRelation("guardianships", condition=kept)
    )
    columns = ("pause__reason", "pause__since", "pause__until", "guardian__guardian__name")
    found = list(rows.order_by("pause__since", "guardian__pk").values_list(*columns))
    pauses = dict.fromkeys((reason, since, until) for reason, since, until, _ in found if reason)
    names = dict.fromkeys(name for *_, name in found if name)
    return [Pause(reason=reason, since=since, until=until) for reason, since, until in pauses], list(names)


def with_coaches(students: StudentQuerySet, on: date) -> StudentQuerySet:
    """The students with their accounts, and with the care and the pauses (`pauses_now`) in force on a day."""
    cares = Prefetch("cares", Care.objects.in_force(on).select_related("coach__user"))
    pauses = Prefetch("pauses", Pause.objects.in_force(on), to_attr="pauses_now")
    return students.select_related("user").prefetch_related(cares, pauses)
