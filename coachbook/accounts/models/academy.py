"""The academy whose book this is."""

import zoneinfo
from datetime import date, datetime

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords


def check_time_zone(name: str) -> None:
    """Refuse a zone that the time zone database does not know."""
    if name not in zoneinfo.available_timezones():
        raise ValidationError("Choose a time zone by its name, such as Europe/Dublin.")


class Academy(models.Model):
    """The one academy that this book is kept for."""

    class Units(models.TextChoices):
        METRES = "m", "metres"
        FEET = "ft", "feet"

    class Paper(models.TextChoices):
        A4 = "A4"
        LETTER = "Letter"

    name = models.CharField(max_length=80, default="Short-game academy")
    time_zone = models.CharField(max_length=60, default="UTC", validators=[check_time_zone])
    units = models.CharField(max_length=2, choices=Units, default=Units.METRES)
    paper = models.CharField(max_length=6, choices=Paper, default=Paper.A4)
    adult_at = models.PositiveSmallIntegerField("age at which a student decides alone", default=18)
    child_until = models.PositiveSmallIntegerField("age up to which a student gets the child's sheet", default=12)
    not_seen_days = models.PositiveSmallIntegerField("days after which a student counts as not seen", default=60)
    history = HistoricalRecords()

    class Meta:
        constraints = [models.CheckConstraint(name="one_academy", condition=Q(pk=1))]

    def __str__(self) -> str:
        return self.name

    @classmethod
    def current(cls) -> "Academy":
        """The academy's row, or its defaults where nobody has set any."""
        return cls.objects.first() or cls(pk=1)

    def today(self, at: datetime) -> date:
        """The academy's date at a moment."""
        return at.astimezone(zoneinfo.ZoneInfo(self.time_zone)).date()
