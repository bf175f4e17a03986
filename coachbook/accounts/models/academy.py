"""The academy whose book this is."""

import zoneinfo
from datetime import date, datetime

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q
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
    # From how many arrivals on the state of a focus is called by its word. Common practice, no source.
    state_new = models.PositiveSmallIntegerField("looks below which a focus is new", default=2)
    state_slips = models.PositiveSmallIntegerField("changes lost in a row after which it does not hold", default=2)
    state_holding = models.PositiveSmallIntegerField("sound arrivals in a row from which it holds", default=2)
    state_done = models.PositiveSmallIntegerField("sound arrivals in a row from which it is done", default=3)
    state_done_days = models.PositiveSmallIntegerField("days over which they reach at least", default=28)
    state_back = models.PositiveSmallIntegerField("arrivals on which it is seen again until it came back", default=2)
    history = HistoricalRecords()

    class Meta:
        constraints = [
            models.CheckConstraint(name="one_academy", condition=Q(pk=1)),
            models.CheckConstraint(
                name="states_possible",
                condition=Q(
                    *(Q(**{f"state_{word}__range": (1, 20)}) for word in ("new", "slips", "holding", "done", "back")),
                    state_done__gte=F("state_holding"),
                    state_done_days__lte=365,
                ),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @classmethod
    def current(cls) -> "Academy":
        """The academy's row, or its defaults where nobody has set any."""
        return cls.objects.first() or cls(pk=1)

    def today(self, at: datetime) -> date:
        """The academy's date at a moment."""
        return at.astimezone(zoneinfo.ZoneInfo(self.time_zone)).date()
