"""Appointments, the series in which they were created, what acts made of them, absences, and calendar links."""

from datetime import date, datetime, timedelta
from typing import Any, Self

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from simple_history.models import HistoricalRecords

from coachbook.accounts.models import Coach, KeyedModel, Pause, Student, User

MAX_MINUTES = 240  # minutes


class Series(KeyedModel):
    """A rule by which appointments were created; each of them can then be changed alone."""

    rule = models.CharField("RFC 5545 rule", max_length=120)
    first_at = models.DateTimeField()
    made_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField(default=timezone.now)

    def __str__(self) -> str:
        return self.rule


class AppointmentQuerySet(models.QuerySet["Appointment"]):
    """Appointments by time and state."""

    def between(self, first: datetime, before: datetime) -> Self:
        """Appointments that begin in this time, the earliest first, with everything that a page shows of them."""
        found = self.filter(starts_at__gte=first, starts_at__lt=before).select_related("coach__user", "series")
        return found.prefetch_related("students").order_by("starts_at", "pk")

    def planned(self) -> Self:
        """Appointments that are neither kept nor missed nor cancelled."""
        return self.filter(status=Appointment.Status.PLANNED)

    def touching(self, starts_at: datetime, minutes: int) -> Self:
        """Appointments that may overlap this time: the window is as wide as the longest appointment."""
        first = starts_at - timedelta(minutes=MAX_MINUTES)
        return self.filter(starts_at__gt=first, starts_at__lt=starts_at + timedelta(minutes=minutes))


class Appointment(KeyedModel):
    """A time that a coach and one or more students agreed on."""

    class Status(models.TextChoices):
        PLANNED = "planned"
        KEPT = "kept"
        MISSED = "missed", "did not come"
        CANCELLED = "cancelled"

    coach = models.ForeignKey(Coach, on_delete=models.PROTECT, related_name="appointments")
    students = models.ManyToManyField(Student, related_name="appointments")
    starts_at = models.DateTimeField()
    minutes = models.PositiveSmallIntegerField(
        default=60, validators=[MinValueValidator(5), MaxValueValidator(MAX_MINUTES)]
    )
    place = models.CharField(max_length=80, blank=True)
    status = models.CharField(max_length=9, choices=Status, default=Status.PLANNED)
    series = models.ForeignKey(Series, on_delete=models.PROTECT, null=True, blank=True, related_name="appointments")
    made_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    changed_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    changed_at = models.DateTimeField(default=timezone.now)
    sequence = models.PositiveIntegerField("how often it was changed", default=0)
    history = HistoricalRecords()

    objects = AppointmentQuerySet.as_manager()

    class Meta:
        ordering = ["starts_at", "pk"]
        constraints = [
            models.CheckConstraint(name="appointment_can_be_kept", condition=Q(minutes__range=(5, MAX_MINUTES))),
            models.CheckConstraint(
                name="appointment_status_known",
                condition=Q(status__in=("planned", "kept", "missed", "cancelled")),
            ),
        ]

    def __str__(self) -> str:
        return f"appointment at {self.starts_at:%Y-%m-%d %H:%M}"

    def has_begun(self, at: datetime) -> bool:
        """Whether anybody can say by now if it was kept."""
        return self.starts_at <= at

    @property
    def ends_at(self) -> datetime:
        """When it ends."""
        return self.starts_at + timedelta(minutes=self.minutes)


class Rearrangement(KeyedModel):
    """What one act made of appointments: undoing the act brings them back.

    `changes` holds each appointment with its coach, status and students before and after.
    """

    class Reason(models.TextChoices):
        CARE = "care", "other care"
        MERGE = "merge", "a duplicate merged"
        LEAVE = "leave", "a student left"
        PAUSE = "pause"
        CLOSE = "close", "an account closed"

    reason = models.CharField(max_length=5, choices=Reason)
    student = models.ForeignKey(Student, on_delete=models.CASCADE, null=True, blank=True, related_name="+")
    person = models.ForeignKey(User, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    pause = models.ForeignKey(Pause, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    changes: "models.JSONField[list[dict[str, Any]], list[dict[str, Any]]]" = models.JSONField(default=list)
    undone_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.CheckConstraint(
                name="rearranging_act_known", condition=Q(reason__in=("care", "merge", "leave", "pause", "close"))
            )
        ]

    def __str__(self) -> str:
        return f"{len(self.changes)} appointments, {self.get_reason_display()}"


class AbsenceQuerySet(models.QuerySet["Absence"]):
    """Absences by day."""

    def standing(self) -> Self:
        """Those that nobody has withdrawn."""
        return self.filter(withdrawn_at=None)

    def between(self, first: date, last: date) -> Self:
        """Those that include any day from the first to the last."""
        return self.filter(first_day__lte=last, last_day__gte=first)


class Absence(KeyedModel):
    """Days on which a student cannot come, as they or somebody for them reported; no fault of anybody's."""

    class Reason(models.TextChoices):
        BUSY = "busy", "cannot come"
        ILL = "ill", "ill"
        AWAY = "away", "away"

    student = models.ForeignKey(Student, on_delete=models.CASCADE, related_name="absences")
    first_day = models.DateField()
    last_day = models.DateField()
    reason = models.CharField(max_length=4, choices=Reason, default=Reason.BUSY)
    words = models.CharField(max_length=300, blank=True)
    reported_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    reported_at = models.DateTimeField(default=timezone.now)
    withdrawn_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    history = HistoricalRecords()

    objects = AbsenceQuerySet.as_manager()

    class Meta:
        ordering = ["first_day", "pk"]
        constraints = [
            models.CheckConstraint(name="absence_ends_after_it_begins", condition=Q(last_day__gte=F("first_day"))),
            models.CheckConstraint(name="absence_reason_known", condition=Q(reason__in=("busy", "ill", "away"))),
        ]

    def __str__(self) -> str:
        return f"absence from {self.first_day:%Y-%m-%d}"

    def includes(self, day: date) -> bool:
        """Whether the student cannot come on a day."""
        return self.first_day <= day <= self.last_day


class CalendarLink(models.Model):
    """A link with which a calendar program reads a calendar. Only a hash of its token is stored."""

    token_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        abstract = True


class CalendarFeed(CalendarLink):
    """The link to a coach's appointments."""

    coach = models.ForeignKey(Coach, on_delete=models.CASCADE, related_name="calendar_feeds")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["coach"], name="one_calendar_link_a_coach", condition=Q(ended_at=None)),
            models.CheckConstraint(
                name="calendar_link_ends_later", condition=Q(ended_at=None) | Q(ended_at__gte=F("made_at"))
            ),
        ]

    def __str__(self) -> str:
        return f"calendar of {self.coach}"


class FamilyFeed(CalendarLink):
    """The link to the appointments and practice days of a student, or of the children of a guardian."""

    person = models.ForeignKey(User, on_delete=models.CASCADE, related_name="calendar_feeds")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["person"], name="one_calendar_link_a_person", condition=Q(ended_at=None)),
            models.CheckConstraint(
                name="family_calendar_link_ends_later", condition=Q(ended_at=None) | Q(ended_at__gte=F("made_at"))
            ),
        ]

    def __str__(self) -> str:
        return f"calendar of {self.person}"
