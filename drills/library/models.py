"""The drill library."""

from django.db import models
from simple_history.models import HistoricalRecords

from coachbook.accounts.models import Area
from lessons.models import Skill
from lessons.shipped import ShippedRow
from lessons.wording import render


class Drill(ShippedRow):
    """An exercise, described so that a student of twelve can do it alone. All texts are wordings."""

    class Unit(models.TextChoices):
        MINUTES = "minutes"
        BALLS = "balls"
        SUCCESSES = "successes"

    area = models.CharField(max_length=8, choices=Area)
    name = models.CharField(max_length=60)
    trains = models.ManyToManyField(Skill, related_name="drills")
    purpose = models.CharField("what gets better", max_length=300)
    equipment = models.CharField(max_length=200)
    setup = models.TextField()
    steps: "models.JSONField[list[str], list[str]]" = models.JSONField()
    feel = models.CharField(max_length=300)
    mark = models.CharField("what counts as done well", max_length=300)
    tip = models.CharField(max_length=300)
    dose_amount = models.PositiveSmallIntegerField()
    dose_unit = models.CharField(max_length=9, choices=Unit, default=Unit.MINUTES)
    dose_per_week = models.PositiveSmallIntegerField(default=3)
    dose_days = models.PositiveSmallIntegerField(default=30)
    caution = models.CharField(max_length=400)
    game = models.TextField("as a game for a child", blank=True)
    child_minutes = models.PositiveSmallIntegerField(default=0)
    history = HistoricalRecords()

    class Meta:
        ordering = ["area", "position"]
        constraints = [
            models.CheckConstraint(name="drill_area_known", condition=models.Q(area__in=Area.values)),
            models.CheckConstraint(
                name="drill_dose_possible",
                condition=models.Q(dose_amount__range=(1, 200), dose_per_week__range=(1, 7), dose_days__range=(1, 365)),
            ),
        ]

    def __str__(self) -> str:
        return render(self.name)
