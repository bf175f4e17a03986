"""The drill library."""

from django.db import models
from simple_history.models import HistoricalRecords

from coachbook.accounts.models import Area, Coach, KeyedModel
from lessons.models import Fault
from lessons.shipped import ShippedRow
from lessons.wording import render


class Drill(ShippedRow):
    """An exercise, described so that a student of twelve can do it alone. All texts are wordings."""

    class Unit(models.TextChoices):
        MINUTES = "minutes"
        BALLS = "balls"
        SUCCESSES = "successes"

    class Kind(models.TextChoices):
        """How it mends a fault, in the order in which a log offers them."""

        FEEL = "feel"
        CONSTRAINT = "constraint", "the set-up tells"
        PLAY = "play", "as in play"

    class Schedule(models.TextChoices):
        BLOCKED = "blocked", "the same again"
        VARIED = "varied", "varied"

    class Place(models.TextChoices):
        GREEN = "green"
        CARPET = "carpet"
        GRASS = "grass"
        SAND = "sand"

    area = models.CharField(max_length=8, choices=Area)
    name = models.CharField(max_length=60)
    faults = models.ManyToManyField(Fault, through="Fit", related_name="drills")
    kind = models.CharField(max_length=10, choices=Kind, default=Kind.FEEL)
    schedule = models.CharField("from ball to ball", max_length=7, choices=Schedule, default=Schedule.BLOCKED)
    places: "models.JSONField[list[str], list[str]]" = models.JSONField("where it can be done", default=list)
    items: "models.JSONField[list[str], list[str]]" = models.JSONField("what it needs besides", default=list)
    minutes = models.PositiveSmallIntegerField("minutes that it takes", default=10)
    drawing: "models.JSONField[dict[str, object], dict[str, object]]" = models.JSONField(default=dict, blank=True)
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
        ordering = ["area", "position", "pk"]
        constraints = [
            models.CheckConstraint(name="drill_area_known", condition=models.Q(area__in=Area.values)),
            models.CheckConstraint(
                name="drill_dose_possible",
                condition=models.Q(dose_amount__range=(1, 200), dose_per_week__range=(1, 7), dose_days__range=(1, 365)),
            ),
            models.CheckConstraint(name="drill_minutes_possible", condition=models.Q(minutes__range=(1, 120))),
        ]

    def __str__(self) -> str:
        return render(self.name)


class Fit(models.Model):
    """That a drill mends a fault, or that it is wrong for it: it would make it worse or teach the opposite."""

    drill = models.ForeignKey(Drill, on_delete=models.CASCADE, related_name="fits")
    fault = models.ForeignKey(Fault, on_delete=models.PROTECT, related_name="fits")
    is_first = models.BooleanField("offered before all others", default=False)
    is_wrong = models.BooleanField("never offered for it", default=False)
    history = HistoricalRecords()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["drill", "fault"], name="a_fault_once_a_drill"),
            models.CheckConstraint(
                name="what_is_wrong_is_not_first", condition=models.Q(is_first=False) | models.Q(is_wrong=False)
            ),
        ]

    def __str__(self) -> str:
        return f"{self.drill}: {self.fault}"


class UsualDrill(KeyedModel):
    """The drill and dose that a coach usually gives for a fault; a log offers it to them first."""

    coach = models.ForeignKey(Coach, on_delete=models.PROTECT, related_name="usual_drills")
    fault = models.ForeignKey(Fault, on_delete=models.PROTECT, related_name="usual_drills")
    drill = models.ForeignKey(Drill, on_delete=models.PROTECT, related_name="usual_for")
    amount = models.PositiveSmallIntegerField()
    unit = models.CharField(max_length=9, choices=Drill.Unit)
    per_week = models.PositiveSmallIntegerField()
    days = models.PositiveSmallIntegerField()
    history = HistoricalRecords()

    class Meta:
        ordering = ["fault", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["coach", "fault"], name="one_usual_drill_a_fault"),
            models.CheckConstraint(
                name="usual_dose_possible",
                condition=models.Q(amount__range=(1, 200), per_week__range=(1, 7), days__range=(1, 365)),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.drill} for {self.fault}"
