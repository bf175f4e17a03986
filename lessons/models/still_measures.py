"""What was measured in a still: where the points lie, what they amount to, and for which skill it was read."""

from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.text import capfirst

from coachbook.accounts.models import KeyedModel, User
from lessons.measures import Measure
from lessons.measuring import Estimate, Frame, Kind, Marks, Point, Shown, marks_for, shown
from lessons.models.catalogue import Skill
from lessons.models.reasoned_history import ReasonedHistory
from lessons.models.stills import Still
from lessons.wording import render_typed

MOST_POINTS = 10
# What a value has to be multiplied by in the unit of a skill; a unit that is missing has no exact conversion.
FACTORS: dict[str, dict[str, Decimal]] = {
    "°": {"°": Decimal(1)},
    "cm": {"cm": Decimal(1), "mm": Decimal(10)},
    "to 1": {"to 1": Decimal(1), "%": Decimal(100)},
}


def check_points(points: Any) -> None:
    """Refuse anything but a short list of pairs of numbers."""
    is_list = isinstance(points, list) and 0 < len(points) <= MOST_POINTS
    if not is_list or not all(is_pair(point) for point in points):
        raise ValidationError("Each point is two numbers: pixels from the left and from the upper edge.")


def is_pair(point: Any) -> bool:
    """Whether something is two numbers."""
    is_list = isinstance(point, list) and len(point) == 2
    return is_list and all(type(number) in (int, float) and 0 <= number < 100_000 for number in point)


class StillMeasureQuerySet(models.QuerySet["StillMeasure"]):
    """What was measured in stills, filtered by whether it still stands."""

    def standing(self) -> "StillMeasureQuerySet":
        """What nobody took away, in the order in which it was measured, with its skill."""
        return self.filter(voided_at=None).select_related("skill").order_by("measured_at", "pk")

    def by_still(self, stills: list[Still]) -> dict[int, list["StillMeasure"]]:
        """What stands of each of these stills, by its number; one query for all of them."""
        found: dict[int, list[StillMeasure]] = {still.pk: [] for still in stills}
        for row in self.standing().filter(still__in=stills):
            found[row.still_id].append(row)
        return found


class StillMeasure(KeyedModel):
    """One value measured in a still: its points, and the standard uncertainty that each source leaves in it.

    The points are kept beside the picture, in pixels of it from its left and from its upper edge, and drawn over it;
    the picture itself is never changed.
    """

    still = models.ForeignKey(Still, on_delete=models.CASCADE, related_name="measures")
    kind = models.CharField(max_length=8, choices=[(kind.value, kind.form.label) for kind in Kind])
    name = models.CharField("what was measured", max_length=40, blank=True)
    points: "models.JSONField[list[list[float]], list[list[float]]]" = models.JSONField(validators=[check_points])
    known_cm = models.DecimalField("the known length, cm", max_digits=5, decimal_places=2, null=True, blank=True)
    value = models.FloatField("in the unit of its kind; an angle to the left is below 0", editable=False)
    from_taps = models.FloatField("uncertainty from the taps", editable=False)
    from_scale = models.FloatField("uncertainty from the scale", editable=False)
    from_tilt = models.FloatField("uncertainty from the tilt of the camera", editable=False)
    skill = models.ForeignKey(Skill, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    below_zero = models.BooleanField("the skill counts it below 0", default=False)
    measured_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+", editable=False)
    measured_at = models.DateTimeField(default=timezone.now, editable=False)
    voided_at = models.DateTimeField(null=True, blank=True, editable=False)
    history = ReasonedHistory()

    objects = StillMeasureQuerySet.as_manager()

    class Meta:
        ordering = ["measured_at", "pk"]
        constraints = [
            models.CheckConstraint(
                name="still_measure_kind_known", condition=Q(kind__in=[kind.value for kind in Kind])
            ),
            models.CheckConstraint(
                name="only_a_length_has_a_known_one", condition=Q(kind="length", known_cm__gt=0) | Q(known_cm=None)
            ),
            models.CheckConstraint(
                name="uncertainty_not_below_zero",
                condition=Q(from_taps__gte=0, from_scale__gte=0, from_tilt__gte=0),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.label}: {self.shown.text}"

    @property
    def estimate(self) -> Estimate:
        """The value with its uncertainty."""
        return Estimate(Kind(self.kind), self.value, self.from_taps, self.from_scale, self.from_tilt)

    @estimate.setter
    def estimate(self, found: Estimate) -> None:
        self.value, self.from_taps = found.value, found.from_taps
        self.from_scale, self.from_tilt = found.from_scale, found.from_tilt

    @property
    def shown(self) -> Shown:
        """The value as it is shown."""
        return shown(self.estimate)

    @property
    def marks(self) -> Marks:
        """What is drawn of it over the picture."""
        return marks_for(Kind(self.kind), self.places)

    @property
    def places(self) -> list[Point]:
        """Its points."""
        return [Point(right, down) for right, down in self.points]

    @property
    def wording(self) -> str:
        """What was measured: what the skill measures, else the name that was typed, else the kind."""
        if self.skill and self.skill.measure:
            return self.skill.measure
        return self.name or Kind(self.kind).form.label

    @property
    def label(self) -> str:
        """What was measured, in the trade's words."""
        return capfirst(render_typed(self.wording))

    @property
    def for_skill(self) -> Decimal | None:
        """The value as the skill counts it, in whole steps and in the skill's unit; None without a skill."""
        measure = self.skill.measured if self.skill else None
        return in_unit(self.shown, measure, self.below_zero) if measure else None


def in_unit(value: Shown, measure: Measure, below_zero: bool) -> Decimal | None:
    """A value as it is shown, in the unit of a measure; None where there is no exact conversion."""
    times = FACTORS[value.unit].get(measure.unit)
    if times is None:
        return None
    number = value.value * times
    return (-number if below_zero else number) + 0  # no minus before a zero


def frame_of(still: Still) -> Frame:
    """The size of a still."""
    return Frame(still.width, still.height)
