"""The academy's settings."""

import zoneinfo
from datetime import date, datetime

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

COUNTS = ("new_looks", "lost", "holding", "ready", "returned")  # each from 1 to 20


def check_time_zone(name: str) -> None:
    """Refuse a name that is not in the time zone database."""
    if name not in zoneinfo.available_timezones():
        raise ValidationError("Choose a time zone by its name, such as Europe/Dublin.")


class Academy(models.Model):
    """The one academy whose lessons are recorded here."""

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
    keep_years = models.PositiveSmallIntegerField("years without a lesson after which to look at a record", default=3)
    # The numbers from which each state of a focus applies. Common practice, no source.
    state_new_looks = models.PositiveSmallIntegerField("arrivals with a look below which a focus is new", default=2)
    state_lost = models.PositiveSmallIntegerField("changes lost in a row after which it does not hold", default=2)
    state_holding = models.PositiveSmallIntegerField("good arrivals in a row from which it is holding", default=2)
    state_ready = models.PositiveSmallIntegerField("good arrivals in a row from which it is ready to close", default=3)
    state_ready_days = models.PositiveSmallIntegerField("days that these arrivals span at least", default=28)
    state_returned = models.PositiveSmallIntegerField(
        "arrivals with it seen again from which it has returned", default=2
    )
    history = HistoricalRecords()

    class Meta:
        constraints = [
            models.CheckConstraint(name="one_academy", condition=Q(pk=1)),
            models.CheckConstraint(
                name="states_possible",
                condition=Q(
                    *(Q(**{f"state_{name}__range": (1, 20)}) for name in COUNTS),
                    state_ready__gte=F("state_holding"),
                    state_ready_days__lte=365,
                ),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @classmethod
    def current(cls) -> "Academy":
        """The academy's row, or the defaults where none is stored."""
        return cls.objects.first() or cls(pk=1)

    def today(self, at: datetime) -> date:
        """The academy's date at a moment."""
        return at.astimezone(zoneinfo.ZoneInfo(self.time_zone)).date()
