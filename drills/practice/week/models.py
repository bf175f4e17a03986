"""The days on which a student practises."""

from collections.abc import Collection
from functools import reduce
from operator import or_

from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from coachbook.accounts.models import Student

WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")  # as date.weekday() counts
FEWEST, MOST = 5, 240  # minutes a day


class PracticeDays(models.Model):
    """The days of the week that a student picked for practice, and the minutes of each; without a row, none picked."""

    student = models.OneToOneField(Student, on_delete=models.PROTECT, related_name="days_picked")
    monday = models.BooleanField(default=False)
    tuesday = models.BooleanField(default=False)
    wednesday = models.BooleanField(default=False)
    thursday = models.BooleanField(default=False)
    friday = models.BooleanField(default=False)
    saturday = models.BooleanField(default=False)
    sunday = models.BooleanField(default=False)
    minutes = models.PositiveSmallIntegerField("minutes a day", null=True, blank=True)
    history = HistoricalRecords()

    class Meta:
        verbose_name_plural = "practice days"
        constraints = [
            models.CheckConstraint(
                name="practice_on_some_day", condition=reduce(or_, (Q(**{day: True}) for day in WEEKDAYS))
            ),
            models.CheckConstraint(name="practice_minutes_possible", condition=Q(minutes__range=(FEWEST, MOST))),
        ]

    def __str__(self) -> str:
        return f"practice days of {self.student}"

    @property
    def weekdays(self) -> list[int]:
        """The days that were picked, Monday being 0."""
        return [number for number, day in enumerate(WEEKDAYS) if getattr(self, day)]

    def pick(self, weekdays: Collection[int]) -> None:
        """Pick these days and no others."""
        for number, day in enumerate(WEEKDAYS):
            setattr(self, day, number in weekdays)
