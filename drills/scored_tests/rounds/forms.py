"""The form for a round."""

from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from drills.models import Round
from drills.scored_tests.rounds.summary import SHOWN
from lessons.progress.words import on as day_words

MOST_PUTTS = 120
HOLES = (18, 9)


def whole(label: str, least: int, most: int, **values: Any) -> forms.IntegerField:
    """A whole number, with one message for every error, in a text field, so that a typing error is kept."""
    widget = forms.TextInput({"inputmode": "numeric", "size": 4, "autocomplete": "off"})
    field = forms.IntegerField(label=label, min_value=least, max_value=most, widget=widget, **values)
    message = f"Type a whole number from {least} to {most}."
    field.error_messages |= dict.fromkeys(("invalid", "min_value", "max_value"), message)
    return field


class RoundForm(forms.Form):
    """Four numbers of a round. Up-and-downs left empty are stored as none tried."""

    day = forms.DateField(widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}))
    holes = forms.TypedChoiceField(
        choices=[(number, f"{number} holes") for number in HOLES], coerce=int, widget=forms.RadioSelect, label="Played"
    )
    putts = whole("Putts", 1, MOST_PUTTS, help_text="All putts of the round. From off the green does not count.")
    three_putts = whole("Holes with three putts or more", 0, 18, help_text="0 if there was none.")
    tried = whole(
        "Up-and-downs tried", 0, 18, required=False, help_text="From off the green, with a chip, pitch or bunker shot."
    )
    made = whole("Up-and-downs made", 0, 18, required=False, help_text="The chip and one putt, or the chip alone.")

    def __init__(self, data: Any = None, *, on: date, stored: Round | None = None) -> None:
        super().__init__(data, initial={"day": on, "holes": 18})
        self.first, self.last, self.stored = on - SHOWN, on, stored
        day = self.fields["day"]
        day.widget.attrs |= {"min": self.first.isoformat(), "max": self.last.isoformat()}
        day.error_messages["invalid"] = self.which_day

    @property
    def which_day(self) -> str:
        """The days to choose from, in words."""
        return f"Choose a day from {day_words(self.first)} to {day_words(self.last)}."

    def clean_day(self) -> date:
        """A day of the last two years. A round that is sent again keeps its day, however long ago."""
        day: date = self.cleaned_data["day"]
        if not self.stored and not self.first <= day <= self.last:
            raise ValidationError(self.which_day)
        return day

    def clean(self) -> dict[str, Any]:
        """Check the numbers against each other and against a round stored with this key."""
        typed: dict[str, Any] = super().clean() or self.cleaned_data
        self.check_putts(typed)
        self.check_up_and_downs(typed)
        if not self.errors:
            typed |= {name: typed[name] or 0 for name in ("tried", "made")}
            self.check_stored(typed)
        return typed

    def check_putts(self, typed: dict[str, Any]) -> None:
        """Check three-putts against holes and putts."""
        three, holes, putts = (typed.get(name) for name in ("three_putts", "holes", "putts"))
        if three is None:
            return
        if holes and three > holes:
            self.add_error("three_putts", f"{three} are more than the {holes} holes played.")
        elif putts and 3 * three > putts:
            self.add_error("three_putts", f"{three} with three putts make {3 * three} putts at least, not {putts}.")

    def check_up_and_downs(self, typed: dict[str, Any]) -> None:
        """Check made against tried and tried against holes; both or neither must be there."""
        tried, made, holes = (typed.get(name) for name in ("tried", "made", "holes"))
        if {"tried", "made"} & self.errors.keys():
            return
        if tried is None and made is not None:
            self.add_error("tried", "Type how many were tried, too.")
        elif tried and made is None:
            self.add_error("made", "Type how many of them were made; 0 if none was.")
        elif tried and holes and tried > holes:
            self.add_error("tried", f"{tried} are more than the {holes} holes played.")
        elif (made or 0) > (tried or 0):
            self.add_error("made", f"{made} made are more than {tried} tried.")

    def check_stored(self, typed: dict[str, Any]) -> None:
        """Refuse different numbers for a stored round, so that neither round is lost."""
        if self.stored and any(value != getattr(self.stored, name) for name, value in typed.items()):
            raise ValidationError(
                "Another round was already saved from this page, and it is kept. Send this one again to add it."
            )
