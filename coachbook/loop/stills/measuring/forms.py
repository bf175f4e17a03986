"""The form by which something is measured in a still: its points, what gives the scale, and for which skill."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from coachbook.accounts.models import Area, Coach
from coachbook.forms import set_choices
from lessons.joined import offered
from lessons.measures import format_decimal, limit_question
from lessons.measuring import Estimate, Kind, MeasuringError, Point, Shown, estimate, shown
from lessons.models import Skill, Still, StillMeasure
from lessons.models.still_measures import FACTORS, frame_of, in_unit

CM_PER_INCH = Decimal("2.54")  # exactly, since 1959
LENGTH = re.compile(r"(?P<number>[0-9]{1,3}(?:[.,][0-9]{1,2})?)\s*(?P<unit>cm|in|inch|inches|\"|)\.?", re.IGNORECASE)


class LengthField(forms.CharField):
    """A length in cm, or in inches with their unit behind; its value is in cm."""

    def clean(self, value: Any) -> Decimal | None:
        """The length in cm, to a hundredth."""
        typed = super().clean(value)
        if not typed:
            return None
        found = LENGTH.fullmatch(typed)
        if not found:
            raise ValidationError("Type a length, such as 86 cm or 34 in.")
        number = Decimal(found["number"].replace(",", "."))
        return round(number if found["unit"].lower() in ("", "cm") else number * CM_PER_INCH, 2)


@dataclass(frozen=True)
class PointFields:
    """The two fields of one point, and what it is."""

    label: str
    right: forms.BoundField
    down: forms.BoundField


class MeasureForm(forms.Form):
    """What is measured, with its points in pixels of the picture."""

    known_cm = LengthField(
        label="The known length",
        max_length=12,
        help_text="Such as the putter's own: 86 cm, or 34 in.",
        error_messages={"required": "Type the known length."},
    )
    name = forms.CharField(label="What you measure", max_length=40, required=False)
    skill = forms.ChoiceField(label="Enter it as the measure of", required=False)
    below_zero = forms.BooleanField(label="With a minus, where that skill has one", required=False)
    keep_anyway = forms.CharField(required=False, max_length=20)

    def __init__(self, *args: Any, still: Still, kind: Kind, skills: list[Skill], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.still, self.kind, self.skills = still, kind, {skill.code: skill for skill in skills}
        self.estimate: Estimate | None = None
        self.asked = ""  # the number that a tick would keep
        for number in range(len(kind.form.points)):
            for way, most, label in (("x", still.width, "From the left"), ("y", still.height, "From the top")):
                self.fields[f"{way}{number}"] = pixel_field(most, label, is_needed=number < kind.form.least)
        if not any(skill.measured and skill.measured.may_be_negative for skill in skills):
            del self.fields["below_zero"]
        if kind is not Kind.LENGTH:
            del self.fields["known_cm"]
        set_choices(self, "skill", [("", "Nothing, it stays with the picture"), *skill_choices(skills)])

    @property
    def points(self) -> Iterator[PointFields]:
        """The fields of each point."""
        for number, label in enumerate(self.kind.form.points):
            yield PointFields(label, self[f"x{number}"], self[f"y{number}"])

    @property
    def shown(self) -> Shown | None:
        """The value of valid points."""
        return shown(self.estimate) if self.estimate else None

    @property
    def is_negative(self) -> bool:
        """Whether the skill counts the value below 0."""
        return bool(self.cleaned_data.get("below_zero"))

    def clean(self) -> dict[str, Any]:
        """Compute the value; refuse points that say nothing, and ask about a number outside the limits of its skill."""
        values = self.cleaned_data
        if self.errors:
            return values
        try:
            self.estimate = estimate(self.kind, self.placed(), frame_of(self.still), number_of(values.get("known_cm")))
        except MeasuringError as refusal:
            raise ValidationError(str(refusal)) from refusal
        self.check_limits(self.skills.get(values["skill"]))
        return values

    def placed(self) -> list[Point]:
        """The points that were placed. Raises `MeasuringError` for one that has one number only."""
        both = [(self.cleaned_data.get(f"x{n}"), self.cleaned_data.get(f"y{n}")) for n in range(len(list(self.points)))]
        if any((right is None) != (down is None) for right, down in both):
            raise MeasuringError("Each point needs both of its numbers.")
        return [Point(right, down) for right, down in both if right is not None and down is not None]

    def check_limits(self, skill: Skill | None) -> None:
        """Ask about a number outside the limits of a skill, unless it was ticked to be kept."""
        measure = skill.measured if skill else None
        number = in_unit(self.shown, measure, self.is_negative) if measure and self.shown else None
        if measure is None or number is None:
            return
        if number < 0 and not measure.may_be_negative:
            self.add_error("below_zero", "This is never below 0.")
        question = limit_question(number, measure)
        if question and self.cleaned_data["keep_anyway"] != measure.value(number):
            self.asked = measure.value(number)
            self.add_error("skill", question.replace("Type it again", "Place the points again"))

    def row(self, **values: Any) -> StillMeasure:
        """What was measured, as a row that is not stored yet."""
        assert self.estimate is not None
        typed = self.cleaned_data
        row = StillMeasure(still=self.still, kind=self.kind.value, name=typed["name"], **values)
        row.points = [[round(point.x, 1), round(point.y, 1)] for point in self.placed()]
        row.known_cm, row.skill = typed.get("known_cm"), self.skills.get(typed["skill"])
        row.below_zero = self.is_negative and row.skill is not None
        row.estimate = self.estimate
        return row


def pixel_field(most: int, label: str, *, is_needed: bool) -> forms.FloatField:
    """A number of pixels of a picture that has so many."""
    widget = forms.NumberInput({"step": "any", "inputmode": "decimal", "autocomplete": "off"})
    messages = {
        "required": "Place this point, or type its two numbers.",
        "invalid": "Type a number of pixels.",
        "min_value": "A point lies in the picture: 0 or more.",
        "max_value": f"A point lies in the picture: {most} at most.",
    }
    return forms.FloatField(
        label=label, min_value=0, max_value=most, required=is_needed, widget=widget, error_messages=messages
    )


def number_of(length: Decimal | None) -> float | None:
    """A length as a number to compute with."""
    return None if length is None else float(length)


def skills_for(still: Still, kind: Kind, coach: Coach | None) -> list[Skill]:
    """The skills of the lesson's areas whose measure has a unit into which a value can be converted exactly."""
    areas = still.lesson.areas
    rows = Skill.objects.filter(offered("", coach), merged_into=None, area__in=areas)
    return list(rows.filter(measure_unit__in=FACTORS[kind.form.unit]).order_by("area", "position", "pk"))


def skill_choices(skills: list[Skill]) -> list[Any]:
    """The skills by name, under their area where there are several."""
    areas = {area: [(row.code, label_of(row)) for row in skills if row.area == area] for area in Area}
    groups = [(area.label, choices) for area, choices in areas.items() if choices]
    return groups if len(groups) > 1 else [choice for _, choices in groups for choice in choices]


def label_of(skill: Skill) -> str:
    """A skill with what is measured of it: "Stance: stance width, cm"."""
    measure = skill.measured
    return f"{skill}: {measure.label()}" if measure else str(skill)


def putter_words(still: Still) -> str:
    """The length of the student's own putter, as it stands in the field; empty where it is not known."""
    inches = still.lesson.student.putter_length
    return f"{format_decimal(round(inches * CM_PER_INCH, 2))} cm" if inches else ""
