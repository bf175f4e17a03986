"""The form to set up a scored test: lengths in any unit, with a question where the unit looks wrong."""

import re
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any, cast

from django import forms
from django.utils import timezone
from django.utils.formats import date_format

from coachbook.accounts import gate
from coachbook.accounts.models import Academy, Coach, Side, Student
from coachbook.forms import set_choices, set_queryset
from drills.models import Design, ScoredTest
from drills.putting.green import level_stimp_ft
from drills.putting.hole import BALL_RADIUS_M
from drills.putting.lengths import format_length, format_lengths, format_number, likely_unit
from drills.putting.observations import FURTHEST_M
from drills.putting.sample_size import balls_for
from drills.putting.units import METRES, Unit, in_metres
from drills.scored_tests.models import FASTEST_FT, SLOWEST_FT
from drills.scored_tests.recording.scoring import SetUp
from drills.scored_tests.stations import MOST_BALLS, MOST_STATIONS, Plan, Station, even_plan
from drills.scored_tests.wording import step_unit
from lessons.models import Lesson
from lessons.plain_words import plain

UNITS: list[tuple[Unit, str]] = [
    ("m", "metres"),
    ("cm", "centimetres"),
    ("ft", "feet"),
    ("in", "inches"),
    ("yd", "yards"),
    ("step", "steps of 0.9 m"),
]
STEPS: list[tuple[Unit, str]] = [("step", "steps of 0.9 m"), ("ft", "feet"), ("m", "metres")]
NUMBER = re.compile(r"\d{1,4}(?:[.,]\d{1,3})?")
WIDEST_M = 1.0
NUMBERS_ONLY = "Type numbers only, such as 6 or 1 1.5 2, and choose their unit beside them."
HOME = str(ScoredTest.Moment.HOME)


class LengthField(forms.CharField):
    """Lengths as text, with a decimal comma or point."""

    def __init__(self, **more: Any) -> None:
        super().__init__(required=False, max_length=60, **more)
        self.widget.attrs |= {"inputmode": "decimal", "autocomplete": "off"}


class StimpField(LengthField):
    """A reading in feet, to a tenth of a foot."""

    def __init__(self, low: int = SLOWEST_FT, high: int = FASTEST_FT, **more: Any) -> None:
        super().__init__(**more)
        self.low, self.high = low, high

    def clean(self, value: Any) -> Decimal | None:
        """The reading, or None if left empty. Raises ValidationError for any other text."""
        typed: str = super().clean(value)
        if not typed:
            return None
        reading = Decimal(typed.replace(",", ".")) if NUMBER.fullmatch(typed) else None
        if reading is None or not self.low <= reading <= self.high:
            raise forms.ValidationError(f"Type a reading in feet from {self.low} to {self.high}, such as 9.5.")
        return reading.quantize(Decimal("0.1"))


class WholeField(forms.IntegerField):
    """A number of balls or minutes, in a text field, so that a typing error is kept."""

    def __init__(self, high: int, what: str, **more: Any) -> None:
        words = f"Type a whole number of {what} from 1 to {high}."
        super().__init__(
            required=False, min_value=1, max_value=high, widget=forms.TextInput({"inputmode": "numeric"}), **more
        )
        self.error_messages |= dict.fromkeys(("invalid", "min_value", "max_value"), words)
        for validator in self.validators:
            cast(Any, validator).message = words


class BeginForm(forms.Form):
    """Which test, when in a lesson, and everything that differs from the design."""

    MORE = (
        "distances", "unit", "balls", "minutes", "width", "width_unit", "step", "stimp", "stimp_up", "stimp_down",
    )  # fmt: skip

    design = forms.ModelChoiceField(
        Design.objects.none(),
        empty_label=None,
        widget=forms.RadioSelect,
        label="Which test",
        error_messages={"required": "Choose a test.", "invalid_choice": "Choose one of these tests."},
    )
    moment = forms.ChoiceField(
        widget=forms.RadioSelect,
        label="When",
        error_messages={"required": "Choose when.", "invalid_choice": "Choose one of these."},
    )
    distances = LengthField(help_text="Leave empty for the usual distances. Put a space between several: 1 1.5 2.")
    unit = forms.ChoiceField(choices=UNITS, label="Distances are in")
    keep = forms.BooleanField(required=False, label="Keep it as I typed it")
    balls = WholeField(MOST_BALLS, "balls", label="Balls from each distance", help_text="Leave empty for the usual.")
    minutes = WholeField(
        60, "minutes", label="Minutes available", help_text="If the number of balls is empty: as many as fit."
    )
    width = LengthField(label="Width of the gate", help_text="For a gate only. Leave empty for the usual width.")
    width_unit = forms.ChoiceField(choices=UNITS, label="The width is in")
    step = forms.ChoiceField(choices=STEPS, widget=forms.RadioSelect, label="Count how far a ball stops in")
    stimp = StimpField(label="Green speed, stimp in feet")
    stimp_up = StimpField(1, 60, label="Or read up the slope")
    stimp_down = StimpField(1, 60, label="And down the slope")

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        student: Student,
        academy: Academy,
        on: date,
        lessons: list[Lesson],
        stored: ScoredTest | None = None,
        coach: Coach | None = None,
    ) -> None:
        super().__init__(data, initial=initial_of(academy, lessons, stored))
        self.student, self.academy, self.on, self.lessons = student, academy, on, lessons
        self.mixed_up = False
        if not gate.is_allowed(student, gate.Permission.READ_NOTES):
            self.fields["stimp"].label = plain(str(self.fields["stimp"].label))
        designs = Design.offered_to(coach)
        if stored:  # a coach may have begun it with a design of their own
            designs |= Design.objects.filter(pk=stored.design_id, archived=False)
        set_queryset(self, "design", designs.order_by("-area", "position"))
        set_choices(self, "moment", moments(lessons))
        if not lessons:
            del self.fields["moment"]

    @property
    def design_choices(self) -> list[tuple[forms.boundfield.BoundWidget, Design, Side]]:
        """The tests to choose from, each with the side from which the student plays it."""
        radios = ((radio, cast(Any, radio.data["value"]).instance) for radio in self["design"])
        return [(radio, design, self.student.side(design.area)) for radio, design in radios]

    @property
    def is_changed(self) -> bool:
        """Whether anything beyond the test and its moment was typed or has an error."""
        typed = any(self.data.get(name) for name in ("distances", "balls", "minutes", "width", "stimp", "stimp_up"))
        return typed or any(self[name].errors for name in self.MORE)

    def unit_of(self, name: str) -> Unit:
        """The unit that was chosen, or the preselected one."""
        return cast(Unit, self.cleaned_data.get(name) or self.get_initial_for_field(self.fields[name], name))

    def clean(self) -> dict[str, Any]:
        """Distances, width and green, checked against the test."""
        typed: dict[str, Any] = super().clean() or self.cleaned_data
        if design := typed.get("design"):
            self.check("distances", lambda: self.read_distances(design))
            self.check("width", lambda: self.read_width(design))
        self.check("stimp", self.read_green)
        return typed

    def check(self, name: str, read: Any) -> None:
        """Store what `read` returns, or its error beside the field."""
        if name in self.errors:
            return
        try:
            self.cleaned_data[f"{name}_read"] = read()
        except forms.ValidationError as problem:
            self.add_error(name, problem)

    def read_distances(self, design: Design) -> list[float]:
        """The distances in metres, as typed or else those of the design."""
        unit, typed = self.unit_of("unit"), numbers_in(self.cleaned_data.get("distances", ""))
        if len(typed) > MOST_STATIONS:
            raise forms.ValidationError(f"Not more than {MOST_STATIONS} distances in one test.")
        for number in typed:
            check_length(in_metres(number, unit), 0.1, FURTHEST_M, "A distance is", unit)
        self.ask_back(typed, unit, design.distances_m)
        return [round(in_metres(number, unit), 4) for number in typed] or list(design.distances_m)

    def read_width(self, design: Design) -> float | None:
        """The width of a gate in metres; other tests have none."""
        if design.kind != Design.Kind.GATE:
            return None
        unit, typed = self.unit_of("width_unit"), numbers_in(self.cleaned_data.get("width", ""))
        if len(typed) > 1:
            raise forms.ValidationError("Type one number: a gate has one width.")
        if not typed:
            return design.width_m
        check_length(in_metres(typed[0], unit), 2 * BALL_RADIUS_M + 0.001, WIDEST_M, "A gate is", unit)
        self.ask_back(typed, unit, [design.width_m or 0.0])
        return round(in_metres(typed[0], unit), 4)

    def ask_back(self, typed: list[float], unit: Unit, usual_m: list[float]) -> None:
        """Ask about numbers that fit the test in another unit and not in this one, unless that was answered."""
        other = next((other for number in typed if (other := likely_unit(number, unit, usual_m))), None)
        if other and not self.cleaned_data.get("keep"):
            self.mixed_up = True
            numbers = " ".join(format_number(number) for number in typed)
            raise forms.ValidationError(
                f"You typed {numbers} {unit}; did you mean {numbers} {other}? "
                f"The usual length is {format_lengths(usual_m, other)}. Change it, or keep it as you typed it."
            )

    def read_green(self) -> Decimal | None:
        """The green speed in feet, as typed or from readings up and down the slope."""
        stimp, up, down = (self.cleaned_data.get(name) for name in ("stimp", "stimp_up", "stimp_down"))
        if self.errors.keys() & {"stimp_up", "stimp_down"} or not (up or down):
            return cast(Decimal | None, stimp)
        if stimp:
            raise forms.ValidationError("Type the speed or the two readings, not both.")
        if not (up and down):
            raise forms.ValidationError("Type both readings, up and down the slope.")
        level = level_stimp_ft(float(up), float(down))
        if not SLOWEST_FT <= level <= FASTEST_FT:
            raise forms.ValidationError(
                f"These two readings give {level:.1f} ft; greens have {SLOWEST_FT} to {FASTEST_FT}. Read again."
            )
        return Decimal(f"{level:.1f}")

    @property
    def set_up(self) -> SetUp:
        """The set-up of the test. The form must be valid."""
        typed = self.cleaned_data
        moment, _, key = typed.get("moment", HOME).partition("_")
        lesson = next((lesson for lesson in self.lessons if str(lesson.key) == key), None)
        day = self.academy.today(lesson.session.starts_at) if lesson else self.on
        return SetUp(
            design=typed["design"],
            day=day,
            step_m=METRES[self.unit_of("step")],
            width_m=typed["width_read"],
            stimp_ft=typed["stimp_read"],
            lesson=lesson,
            moment=moment,
            plan=self.plan.word,
        )

    @property
    def plan(self) -> Plan:
        """The balls from each distance. The form must be valid."""
        typed = self.cleaned_data
        design, distances = typed["design"], typed["distances_read"]
        if typed["balls"] or not typed["minutes"]:
            return even_plan(distances, typed["balls"] or design.balls)
        kind = Design.Kind.LEAVES if design.kind == Design.Kind.LADDER else design.kind
        parts = balls_for(typed["minutes"], distances, kind)
        return Plan(tuple(Station(part.distance_m, min(part.balls, MOST_BALLS)) for part in parts))


class BallForm(forms.Form):
    """One tap: the ball's number, the word on the button, and a number where it stopped further away."""

    number = forms.IntegerField(min_value=1, max_value=MOST_BALLS * MOST_STATIONS)
    what = forms.CharField(max_length=20, required=False)
    far = forms.CharField(max_length=20, required=False)


def initial_of(academy: Academy, lessons: list[Lesson], stored: ScoredTest | None) -> dict[str, Any]:
    """The initial values: the academy's unit, or the set-up of a test that has no ball yet."""
    feet = academy.units == Academy.Units.FEET
    start: dict[str, Any] = {"unit": academy.units, "width_unit": "in" if feet else "cm", "step": "step"}
    if stored:
        start |= {"design": stored.design_id, "stimp": stored.stimp_ft, "step": step_unit(stored) or "step"}
        start["moment"] = f"{stored.moment}_{stored.lesson.key}" if stored.lesson else HOME
    return start


def moments(lessons: list[Lesson]) -> list[tuple[str, str]]:
    """The choices of moment: arrival and departure of each lesson, and alone."""
    kinds = (ScoredTest.Moment.ARRIVAL, ScoredTest.Moment.DEPARTURE)
    offered = [
        (f"{kind.value}_{lesson.key}", f"{kind.label}, {time_of(lesson)}") for lesson in lessons for kind in kinds
    ]
    return [*offered, (HOME, "Alone, outside a lesson")]


def time_of(lesson: Lesson) -> str:
    """Weekday and time of a lesson, in the current time zone."""
    return date_format(timezone.localtime(lesson.session.starts_at), "l, H:i")


def numbers_in(typed: str) -> list[float]:
    """The numbers in a text, separated by spaces or semicolons. Raises ValidationError for anything else."""
    words = [word.rstrip(",") for word in typed.replace(";", " ").split()]
    if len(words) == 1 and re.fullmatch(r"\d+,\d", words[0]):
        one, two = words[0].split(",")
        if one != "0" and two != "0":
            raise forms.ValidationError(f"Type {one}.{two} for one length, or {one} {two} with a space for two.")
    for word in words:
        if word.startswith("-"):
            raise forms.ValidationError("A length is more than 0.")
        if not NUMBER.fullmatch(word):
            raise forms.ValidationError(NUMBERS_ONLY)
    return [float(word.replace(",", ".")) for word in words]


def check_length(length_m: float, least_m: float, most_m: float, what: str, unit: Unit) -> None:
    """Raise ValidationError for a length outside the range in metres."""
    if length_m <= 0:
        raise forms.ValidationError("A length is more than 0.")
    if not least_m <= length_m <= most_m:
        low, high = (format_length(end, "ft" if unit in ("ft", "in", "yd") else "m") for end in (least_m, most_m))
        raise forms.ValidationError(f"{what} from {low} to {high}. Is the unit right?")
