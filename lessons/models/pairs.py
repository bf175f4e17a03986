"""Stills beside each other: which two points of a pair are the same, and which checkpoint and view show a focus."""

from typing import Any

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from simple_history.models import HistoricalRecords

from coachbook.accounts.models import KeyedModel, is_one_of
from lessons.models.record import Focus
from lessons.models.stills import Checkpoint, Still, View


def check_points(points: Any) -> None:
    """Refuse anything but two points, each a pair of numbers from 0 to 100."""
    if not (isinstance(points, list) and len(points) == 2 and all(map(is_point, points))):
        raise ValidationError("Two points, each so many percent across and down.")


def is_point(point: Any) -> bool:
    """Whether something is two numbers from 0 to 100."""
    is_pair = isinstance(point, list) and len(point) == 2
    return is_pair and all(type(number) in (int, float) and 0 <= number <= 100 for number in point)


Points = list[list[float]]


class Alignment(KeyedModel):
    """The same two points in the picture of an arrival and in that of a departure, so that both have one scale.

    Points are in percent of a picture's width and height from its upper left corner: the picture is never changed.
    """

    arrival = models.ForeignKey(Still, on_delete=models.CASCADE, related_name="+")
    departure = models.ForeignKey(Still, on_delete=models.CASCADE, related_name="alignments")
    arrival_points: "models.JSONField[Points, Points]" = models.JSONField(validators=[check_points])
    departure_points: "models.JSONField[Points, Points]" = models.JSONField(validators=[check_points])
    aligned_at = models.DateTimeField(default=timezone.now, editable=False)
    history = HistoricalRecords()

    class Meta:
        ordering = ["-aligned_at", "-pk"]
        constraints = [
            models.UniqueConstraint(fields=["arrival", "departure"], name="a_pair_is_aligned_once"),
            models.CheckConstraint(name="a_pair_is_two_stills", condition=~Q(arrival=F("departure"))),
        ]

    def __str__(self) -> str:
        return f"{self.arrival} beside {self.departure}"


class FocusView(KeyedModel):
    """The checkpoint and view in which a focus is seen: the pair of it stands on the sheet."""

    focus = models.OneToOneField(Focus, on_delete=models.CASCADE, related_name="seen_from")
    checkpoint = models.ForeignKey(Checkpoint, on_delete=models.PROTECT, related_name="+")
    view = models.CharField(max_length=9, choices=View)
    history = HistoricalRecords()

    class Meta:
        constraints = [models.CheckConstraint(name="focus_view_known", condition=is_one_of("view", View))]

    def __str__(self) -> str:
        return f"{self.focus}: {self.checkpoint}, {self.get_view_display()}"
