"""The form in which a student, or a guardian for them, reports practice."""

from datetime import date
from typing import Any

from django import forms
from django.utils.formats import date_format

from drills.models import PracticeEntry, Prescription
from drills.practice.reports import reportable_days

MOST = 600


class PracticeForm(forms.Form):
    """One report. An empty form reports the whole dose, today."""

    amount = forms.IntegerField(required=False, min_value=1, max_value=MOST, help_text="Leave empty for all of it.")
    score = forms.CharField(required=False, max_length=40, help_text="The count of the drill, such as 8 of 10.")
    note = forms.CharField(
        required=False, max_length=300, widget=forms.Textarea(attrs={"rows": 2}), help_text="Your coach reads it."
    )
    day = forms.DateField(required=False, widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}))

    def __init__(
        self, data: Any = None, *, prescription: Prescription, on: date, stored: PracticeEntry | None = None
    ) -> None:
        super().__init__(data, initial={"amount": prescription.amount, "day": on}, auto_id=f"id_{prescription.key}_%s")
        self.prescription, self.on, self.stored = prescription, on, stored
        self.first, self.last = reportable_days(prescription, on)
        amount, day = self.fields["amount"], self.fields["day"]
        amount.label = f"How many {prescription.unit}"
        amount.error_messages |= dict.fromkeys(
            ("invalid", "min_value", "max_value"), f"Type a whole number of {prescription.unit}, from 1 to {MOST}."
        )
        amount.widget.attrs["inputmode"] = "numeric"
        day.widget.attrs |= {"min": self.first.isoformat(), "max": self.last.isoformat()}
        day.error_messages["invalid"] = self.which_day

    @property
    def which_day(self) -> str:
        """The days to choose from, in words."""
        first, last = (date_format(day, "j F") for day in (self.first, self.last))
        return f"Choose {first}." if first == last else f"Choose a day from {first} to {last}."

    def clean_amount(self) -> int:
        """The whole dose if left empty."""
        return self.cleaned_data["amount"] or self.prescription.amount

    def clean_day(self) -> date:
        """Today if left empty. A report that is sent again keeps its day, however long ago."""
        day: date = self.cleaned_data["day"] or self.on
        if not self.stored and not self.first <= day <= self.last:
            raise forms.ValidationError(self.which_day)
        return day

    def clean(self) -> dict[str, Any]:
        """Refuse different values at the address of a stored report, so that neither report is lost."""
        typed: dict[str, Any] = super().clean() or self.cleaned_data
        if self.stored and any(name in self.data and typed[name] != getattr(self.stored, name) for name in typed):
            raise forms.ValidationError(
                "Another report was already sent from this page, and it is kept. Send this one again to add it."
            )
        return typed
