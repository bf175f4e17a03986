"""The forms for a walk-in, for the questions asked once of every student, and for pauses."""

from collections.abc import Mapping
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from django import forms
from django.db import transaction
from django.utils.dateformat import format as date_format
from django.utils.functional import cached_property

from coachbook.accounts.models import Area, Care, Coach, Pause, Side, Student
from coachbook.loop.students.forms import DatedForm, NamedForm

GRIPS = [f"{area}_grip" for area in Area.values]
INTAKE_FIELDS = [
    "goal",
    "event",
    "event_on",
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
FURTHEST = timedelta(days=3 * 366)


class WalkInForm(NamedForm):
    """A walk-in: only a name, child or adult, and a playing side."""

    age_group = forms.ChoiceField(
        label="Child or adult",
        choices=Student.AgeGroup.choices,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose child or adult.", "invalid_choice": "Choose child or adult."},
    )

    plays = forms.ChoiceField(
        label="Plays from the", choices=Side.choices, initial=Side.RIGHT, widget=forms.RadioSelect
    )
    field_order = ["name", "another", "age_group", "plays"]

    class Meta:
        model = Student
        fields = ["name", "age_group"]
        widgets = {"name": forms.TextInput({"autocomplete": "off", "autocapitalize": "words", "autofocus": True})}

    @cached_property
    def saved(self) -> Student:
        """The walk-in as it is saved already; what is typed goes into the instance."""
        return Student.objects.get(pk=self.instance.pk)

    @property
    def differs(self) -> bool:
        """Whether something else was typed than is saved."""
        typed = [" ".join(str(self[name].value() or "").split()) for name in ("name", "age_group", "plays")]
        return typed != [self.saved.name, self.saved.age_group, self.saved.putting_side]

    def save_for(self, coach: Coach) -> Student:
        """Save the student, with this coach from today."""
        return create_walk_in(student=self.instance, plays=Side(self.cleaned_data["plays"]), coach=coach, on=self.today)


@transaction.atomic
def create_walk_in(*, student: Student, plays: Side, coach: Coach, on: date) -> Student:
    """Save a walk-in with one playing side for every area, and this coach as main coach."""
    for area in Area.values:
        setattr(student, f"{area}_side", plays)
    student.walked_in = True
    student.save()
    Care.objects.create(coach=coach, student=student, since=on)
    return student


def number_errors(least: int, most: int, what: str, example: str) -> dict[str, str]:
    """The error messages of a number field."""
    bounds = f"Type {what} from {least} to {most}.".replace("-", "−")
    return {"invalid": f"Type a number, such as {example}.", "min_value": bounds, "max_value": bounds}


class MeasureField(forms.DecimalField):
    """A decimal number, typed with a point or a comma."""

    def __init__(self, least: int, most: int, places: int, what: str, example: str, **kwargs: Any) -> None:
        errors = number_errors(least, most, what, example)
        one = "Type one digit after the point." if places == 1 else "Type at most two digits after the point."
        errors |= {"max_decimal_places": one}
        super().__init__(
            min_value=least, max_value=most, decimal_places=places, required=False, error_messages=errors, **kwargs
        )

    def clean(self, value: Any) -> Any:
        """The number, also if typed with a decimal comma or a typographic minus."""
        return super().clean(value.replace(",", ".").replace("−", "-") if isinstance(value, str) else value)

    def prepare_value(self, value: Any) -> Any:
        """A stored number without trailing zeros."""
        return f"{value.normalize():f}" if isinstance(value, Decimal) else value


class WholeNumberField(forms.IntegerField):
    """A whole number."""

    def __init__(self, least: int, most: int, what: str, example: str, **kwargs: Any) -> None:
        widget = forms.TextInput({"inputmode": "numeric"})
        errors = number_errors(least, most, what, example)
        super().__init__(
            min_value=least, max_value=most, required=False, error_messages=errors, widget=widget, **kwargs
        )


class IntakeForm(DatedForm):
    """The questions asked once: goal, event, grips, putter, practice, limits. All of them may stay empty."""

    putter_length = MeasureField(
        20, 60, 2, "a length", "34.5", label="Putter length, inches", widget=forms.TextInput({"inputmode": "decimal"})
    )
    # The decimal keyboard of a phone has no minus.
    putter_loft = MeasureField(-2, 15, 1, "a loft", "3.5", label="Putter loft, degrees", widget=forms.TextInput)
    putter_lie = MeasureField(
        55, 85, 1, "a lie", "70", label="Putter lie, degrees", widget=forms.TextInput({"inputmode": "decimal"})
    )
    practice_minutes = WholeNumberField(1, 240, "minutes", "15", label="Minutes a day they can practise")
    practice_days = WholeNumberField(1, 7, "days", "3", label="Days a week they can practise")
    field_order = INTAKE_FIELDS

    class Meta:
        model = Student
        fields = INTAKE_FIELDS
        widgets = {"event_on": forms.DateInput({"type": "date"}, format="%Y-%m-%d")}
        error_messages = {"event_on": {"invalid": "Type a day, such as 2027-06-30."}}
        help_texts = {
            "goal": "In the student’s words, such as: two putts from anywhere by summer.",
            "event": "The next one that matters to them.",
            "putting_grip": "Type {lead} or {trail}: the student reads left or right.",
            "limits": "In the student's words. A clinician says what causes it.",
        }

    def clean_event_on(self) -> date | None:
        """A day to come, within three years; one that is stored may stay when it has passed."""
        day: date | None = self.cleaned_data["event_on"]
        if day and "event_on" in self.changed_data and not self.today <= day <= self.today + FURTHEST:
            raise forms.ValidationError("Choose a day from today on, within three years.")
        return day

    def clean(self) -> dict[str, Any]:
        """A day belongs to an event."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if data.get("event_on") and not data.get("event") and "event" not in self.errors:
            self.add_error("event", "Say which event it is, or clear its day.")
        return data


class PauseForm(forms.Form):
    """A pause: its reason, first day, and last day if known."""

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
        help_text="Empty: not known yet.",
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
        error_messages=DAY,
    )

    def __init__(self, data: Mapping[str, Any] | None, *, student: Student, today: date) -> None:
        super().__init__(data, initial={"since": today})
        self.student, self.today = student, today

    def clean(self) -> dict[str, Any]:
        """Days within three years of today, the last not before the first."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        for name in ("since", "until"):
            if (day := data.get(name)) and abs(day - self.today) > FURTHEST:
                self.add_error(name, "Choose a day within three years of today.")
        since, until = data.get("since"), data.get("until")
        if since and until and until < since:
            self.add_error("until", "The last day is before the first.")
        return data

    @transaction.atomic
    def save_pause(self) -> Pause | None:
        """Save the pause once, also if it is posted twice; None, with an error on the form, if it overlaps another."""
        Student.objects.select_for_update().get(pk=self.student.pk)  # two people at once: one after the other
        typed = {name: self.cleaned_data[name] for name in ("reason", "since", "until")}
        touched = self.student.pauses.between(typed["since"], typed["until"] or date.max).first()
        if touched is None:
            return self.student.pauses.create(**typed)
        if typed == {name: getattr(touched, name) for name in typed}:
            return touched
        self.add_error(
            "since", f"There is a pause {days_in_words(touched)} already. End that one first, or choose other days."
        )
        return None


def days_in_words(pause: Pause) -> str:
    """The days of a pause in words."""
    begins = date_format(pause.since, "j F Y")
    return f"from {begins} until {date_format(pause.until, 'j F Y')}" if pause.until else f"since {begins}"


def end_pause(*, pause: Pause, on: date) -> bool:
    """End a pause today, or delete one that has not begun; the history keeps both. Whether anything changed."""
    if pause.since > on:
        pause.delete()
        return True
    if pause.until is not None and pause.until <= on:
        return False
    pause.until = on
    pause.save()
    return True
