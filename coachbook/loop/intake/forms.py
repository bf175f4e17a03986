"""Somebody who walked in, what is asked once of every student, and the times in which they pause."""

from collections.abc import Mapping
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from django import forms
from django.db import transaction
from django.utils.dateformat import format as date_format

from coachbook.accounts.models import Area, Care, Coach, Pause, Side, Student
from coachbook.loop.students.forms import NamedForm, StudentModelForm

GRIPS = [f"{area}_grip" for area in Area.values]
ASKED = [
    *GRIPS,
    "putter_length",
    "putter_loft",
    "putter_lie",
    "equipment",
    "practice_place",
    "practice_minutes",
    "practice_days",
    "limits",
]
FARTHEST = timedelta(days=3 * 366)


class WalkInForm(NamedForm):
    """A name and a playing side: all there is time for."""

    plays = forms.ChoiceField(
        label="Plays from the", choices=Side.choices, initial=Side.RIGHT, widget=forms.RadioSelect
    )
    field_order = ["name", "another", "plays"]

    class Meta:
        model = Student
        fields = ["name"]
        widgets = {"name": forms.TextInput({"autocomplete": "off", "autocapitalize": "words", "autofocus": True})}

    def written_for(self, coach: Coach) -> Student:
        """The student, in this coach's care from today."""
        return write_walk_in(student=self.instance, plays=Side(self.cleaned_data["plays"]), coach=coach, on=self.today)


@transaction.atomic
def write_walk_in(*, student: Student, plays: Side, coach: Coach, on: date) -> Student:
    """Write somebody down who walked in, with one side for every area, and give them to the coach who met them."""
    for area in Area.values:
        setattr(student, f"{area}_side", plays)
    student.walked_in = True
    student.save()
    Care.objects.create(coach=coach, student=student, since=on)
    return student


def said(least: int, most: int, what: str, example: str) -> dict[str, str]:
    """What to say about a number that cannot be."""
    bounds = f"Type {what} from {least} to {most}.".replace("-", "−")
    return {"invalid": f"Type a number, such as {example}.", "min_value": bounds, "max_value": bounds}


class Measure(forms.DecimalField):
    """A measured number, with a point or a comma."""

    def __init__(self, least: int, most: int, places: int, what: str, example: str, **kwargs: Any) -> None:
        errors = said(least, most, what, example)
        one = "Type one digit after the point." if places == 1 else "Type at most two digits after the point."
        errors |= {"max_decimal_places": one}
        super().__init__(
            min_value=least, max_value=most, decimal_places=places, required=False, error_messages=errors, **kwargs
        )

    def clean(self, value: Any) -> Any:
        """The number, where somebody typed a comma for the point or a long minus, too."""
        return super().clean(value.replace(",", ".").replace("−", "-") if isinstance(value, str) else value)

    def prepare_value(self, value: Any) -> Any:
        """A stored number without the noughts that nobody typed."""
        return f"{value.normalize():f}" if isinstance(value, Decimal) else value


class Amount(forms.IntegerField):
    """A whole number."""

    def __init__(self, least: int, most: int, what: str, example: str, **kwargs: Any) -> None:
        widget = forms.TextInput({"inputmode": "numeric"})
        errors = said(least, most, what, example)
        super().__init__(
            min_value=least, max_value=most, required=False, error_messages=errors, widget=widget, **kwargs
        )


class IntakeForm(StudentModelForm):
    """What is asked once: grips, putter, practice, limits. All of it may stay empty."""

    putter_length = Measure(
        20, 60, 2, "a length", "34.5", label="Putter length, inches", widget=forms.TextInput({"inputmode": "decimal"})
    )
    # The decimal keys of a telephone have no minus.
    putter_loft = Measure(-2, 15, 1, "a loft", "3.5", label="Putter loft, degrees", widget=forms.TextInput)
    putter_lie = Measure(
        55, 85, 1, "a lie", "70", label="Putter lie, degrees", widget=forms.TextInput({"inputmode": "decimal"})
    )
    practice_minutes = Amount(1, 240, "minutes", "15", label="Minutes a day they can practise")
    practice_days = Amount(1, 7, "days", "3", label="Days a week they can practise")
    field_order = ASKED

    class Meta:
        model = Student
        fields = ASKED
        help_texts = {
            "putting_grip": "In braces, {lead} and {trail} become left and right where the student reads it.",
            "limits": "As they tell it. What it is, a clinician judges.",
        }


class PauseForm(forms.Form):
    """From when a student pauses, why, and until when if anybody knows."""

    DAY: dict[str, Any] = {"invalid": "Type a day, such as 2026-06-30.", "required": "Choose a day."}
    reason = forms.ChoiceField(
        label="Why",
        choices=Pause.Reason.choices,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose one.", "invalid_choice": "Choose one of these."},
    )
    since = forms.DateField(
        label="First day", widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}), error_messages=DAY
    )
    until = forms.DateField(
        label="Last day",
        required=False,
        help_text="Leave it empty where nobody knows yet.",
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
        error_messages=DAY,
    )

    def __init__(self, data: Mapping[str, Any] | None, *, student: Student, today: date) -> None:
        super().__init__(data, initial={"since": today})
        self.student, self.today = student, today

    def clean(self) -> dict[str, Any]:
        """Days that can be meant, and the last one not before the first."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        for name in ("since", "until"):
            if (day := data.get(name)) and abs(day - self.today) > FARTHEST:
                self.add_error(name, "Choose a day within three years of today.")
        since, until = data.get("since"), data.get("until")
        if since and until and until < since:
            self.add_error("until", "The last day is before the first.")
        return data

    @transaction.atomic
    def paused(self) -> Pause | None:
        """The pause, or None with a message where another one touches it; the same one sent twice is one."""
        Student.objects.select_for_update().get(pk=self.student.pk)  # two people at once: one after the other
        typed = {name: self.cleaned_data[name] for name in ("reason", "since", "until")}
        touched = self.student.pauses.between(typed["since"], typed["until"] or date.max).first()
        if touched is None:
            return self.student.pauses.create(**typed)
        if typed == {name: getattr(touched, name) for name in typed}:
            return touched
        self.add_error("since", f"They pause {spelled(touched)} already. End that one first, or choose other days.")
        return None


def spelled(pause: Pause) -> str:
    """The days of a pause in words."""
    begins = date_format(pause.since, "j F Y")
    return f"from {begins} until {date_format(pause.until, 'j F Y')}" if pause.until else f"since {begins}"


def end_pause(*, pause: Pause, on: date) -> bool:
    """Let a pause end today, or take one back that has not begun; the history keeps both. Whether anything changed."""
    if pause.since > on:
        pause.delete()
        return True
    if pause.until is not None and pause.until <= on:
        return False
    pause.until = on
    pause.save()
    return True
