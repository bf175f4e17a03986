"""Scored tests with their balls, the designs that an academy may change, and rounds in four numbers."""

from datetime import date
from typing import Self

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from coachbook.accounts.models import Area, KeyedModel, Side, Student, User
from drills.putting.observations import OVERSHOT_M
from lessons.models import Lesson
from lessons.shipped import ShippedRow
from lessons.wording import render

SLOWEST_FT, FASTEST_FT = 4, 16  # the range of green speeds; common practice, no source
FURTHEST_PAST_M = 5.0  # the furthest aim past a hole or line; common practice, no source


class Design(ShippedRow):
    """How a test is set up and what is noted of each ball. All texts are wordings, all lengths in metres."""

    class Kind(models.TextChoices):
        LEAVES = "leaves", "measured leaves"
        GATE = "gate", "ball gate"
        COUNTED = "counted", "counted putts"
        LADDER = "ladder", "pace ladder"
        CHIPS = "chips", "proximity"

    area = models.CharField(max_length=8, choices=Area)
    kind = models.CharField("what is noted", max_length=7, choices=Kind)
    name = models.CharField(max_length=60)
    purpose = models.CharField(max_length=300)
    setup = models.TextField()
    note = models.CharField("what to note of each ball", max_length=300)
    distances_m: "models.JSONField[list[float], list[float]]" = models.JSONField("distances, metres")
    balls = models.PositiveSmallIntegerField("balls from each distance")
    width_m = models.FloatField("width of a gate, metres", null=True, blank=True)
    past_m = models.FloatField("aim: metres past the hole or line, of a zone its middle", null=True, blank=True)
    caution = models.CharField(max_length=300)
    history = HistoricalRecords()

    class Meta:
        ordering = ["area", "position"]
        constraints = [
            models.CheckConstraint(name="design_area_known", condition=Q(area__in=Area.values)),
            models.CheckConstraint(name="design_balls_possible", condition=Q(balls__range=(1, 100))),
            models.CheckConstraint(name="a_gate_has_a_width", condition=~Q(kind="gate") | Q(width_m__gt=0.0427)),
            models.CheckConstraint(
                name="design_aim_possible",
                condition=Q(past_m=None) | Q(past_m__range=(0, FURTHEST_PAST_M)) & ~Q(kind__in=("gate", "chips")),
            ),
        ]

    def __str__(self) -> str:
        return render(self.name)

    @property
    def total(self) -> int:
        """All balls of the test."""
        return self.balls * len(self.distances_m)

    @property
    def has_hole(self) -> bool:
        """Whether a ball can be holed."""
        return self.kind in (Design.Kind.LEAVES, Design.Kind.COUNTED, Design.Kind.CHIPS)

    @property
    def has_aim(self) -> bool:
        """Whether a putt is meant to stop somewhere."""
        return self.kind in (Design.Kind.LEAVES, Design.Kind.COUNTED, Design.Kind.LADDER)

    @property
    def aim_m(self) -> float:
        """How far past the hole or line a putt is meant to stop: unless given, a foot past a hole, and at a line."""
        return OVERSHOT_M * self.has_hole if self.past_m is None else self.past_m


class ScoredTestQuerySet(models.QuerySet["ScoredTest"]):
    """Finished tests, and tests since a day."""

    def done(self) -> Self:
        """Those that count: finished and not undone."""
        return self.filter(done_at__isnull=False, is_void=False).select_related("design")

    def since(self, day: date) -> Self:
        """Those of a day and later."""
        return self.filter(day__gte=day)


class ScoredTest(KeyedModel):
    """One test of one student: in a lesson, at arrival or departure, or alone."""

    class Moment(models.TextChoices):
        ARRIVAL = "arrival"
        DEPARTURE = "departure"
        HOME = "home", "alone"

    student = models.ForeignKey(Student, on_delete=models.PROTECT, related_name="scored_tests")
    design = models.ForeignKey(Design, on_delete=models.PROTECT, related_name="scored_tests")
    lesson = models.ForeignKey(Lesson, on_delete=models.PROTECT, null=True, blank=True, related_name="scored_tests")
    moment = models.CharField(max_length=9, choices=Moment, default=Moment.HOME)
    day = models.DateField()
    side = models.CharField("as it was played", max_length=5, choices=Side)
    width_m = models.FloatField("width of the gate, metres", null=True, blank=True)
    past_m = models.FloatField("aim: metres past the hole or line", null=True, blank=True)
    step_m = models.FloatField("step of leaves, metres", default=0.9)
    stimp_ft = models.DecimalField(
        "green speed, stimp in feet",
        max_digits=3,
        decimal_places=1,
        null=True,
        blank=True,
        validators=[MinValueValidator(SLOWEST_FT), MaxValueValidator(FASTEST_FT)],
    )
    plan = models.CharField("balls from each distance, as they were planned", max_length=300, blank=True)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    done_at = models.DateTimeField(null=True, blank=True)
    is_void = models.BooleanField("undone", default=False)
    history = HistoricalRecords()

    objects = ScoredTestQuerySet.as_manager()

    class Meta:
        ordering = ["-day", "-pk"]
        constraints = [
            models.CheckConstraint(name="test_side_known", condition=Q(side__in=Side.values)),
            models.CheckConstraint(name="test_step_possible", condition=Q(step_m__gt=0)),
            models.CheckConstraint(
                name="test_green_possible", condition=Q(stimp_ft=None) | Q(stimp_ft__range=(SLOWEST_FT, FASTEST_FT))
            ),
            models.CheckConstraint(name="only_a_lesson_has_moments", condition=Q(moment="home") | ~Q(lesson=None)),
        ]

    def __str__(self) -> str:
        return f"{self.design} on {self.day}"

    @property
    def aim_m(self) -> float:
        """How far past the hole or line its putts were meant to stop; where it was not stored, as its design says."""
        return self.design.aim_m if self.past_m is None else self.past_m


class Ball(models.Model):
    """The result of one ball. Length and side of a miss are stored as far as somebody saw them."""

    class Result(models.TextChoices):
        HOLED = "holed"
        MISSED = "missed"
        THROUGH = "through", "through the gate"
        BESIDE = "beside", "beside the gate"

    class Length(models.TextChoices):
        UNRECORDED = "", "not recorded"
        SHORT = "short"
        PAST = "past"

    class Miss(models.TextChoices):
        UNRECORDED = "", "not recorded"
        PUSH = "push"
        PULL = "pull"

    test = models.ForeignKey(ScoredTest, on_delete=models.CASCADE, related_name="balls")
    number = models.PositiveSmallIntegerField()
    distance_m = models.FloatField()
    result = models.CharField(max_length=7, choices=Result)
    length = models.CharField(max_length=5, choices=Length, blank=True, default=Length.UNRECORDED)
    miss = models.CharField(max_length=4, choices=Miss, blank=True, default=Miss.UNRECORDED)
    leave_m = models.FloatField("past the hole, short is negative", null=True, blank=True)

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["test", "number"], name="one_ball_a_number"),
            models.CheckConstraint(name="ball_distance_possible", condition=Q(distance_m__gt=0, distance_m__lte=60)),
            models.CheckConstraint(
                name="only_a_miss_is_measured", condition=Q(result="missed") | Q(leave_m=None, length="")
            ),
            models.CheckConstraint(
                name="a_ball_stops_in_front", condition=Q(leave_m=None) | Q(leave_m__gte=-F("distance_m") - 1)
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number}: {self.result}"


class Round(KeyedModel):
    """A round in four numbers, recorded by choice: does practice help on the course?"""

    student = models.ForeignKey(Student, on_delete=models.PROTECT, related_name="rounds")
    day = models.DateField()
    holes = models.PositiveSmallIntegerField(default=18)
    putts = models.PositiveSmallIntegerField()
    three_putts = models.PositiveSmallIntegerField("holes with three putts or more", default=0)
    tried = models.PositiveSmallIntegerField("up-and-downs tried", default=0)
    made = models.PositiveSmallIntegerField("up-and-downs made", default=0)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    is_void = models.BooleanField("undone", default=False)
    history = HistoricalRecords()

    class Meta:
        ordering = ["-day", "-pk"]
        constraints = [
            models.CheckConstraint(
                name="round_possible",
                condition=Q(
                    holes__range=(1, 36),
                    putts__lte=200,
                    three_putts__lte=F("holes"),
                    tried__lte=F("holes"),
                    made__lte=F("tried"),
                ),
            )
        ]

    def __str__(self) -> str:
        return f"{self.putts} putts on {self.day}"
