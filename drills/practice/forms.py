"""The form in which a student, or a guardian for them, reports practice."""

from datetime import date, timedelta
from typing import Any

from django import forms
from django.utils.formats import date_format

from drills.models import PracticeEntry, Prescription
from drills.practice.doses import format_amount
from drills.practice.reports import reportable_days

MOST = 600
BUTTONS = 12  # a score out of so many at most is a row of buttons, one of more is typed


class PracticeForm(forms.Form):
    """One report. A form in which nothing is changed reports the whole dose, today."""

    amount = forms.IntegerField(required=False, min_value=1, max_value=MOST)
    score = forms.IntegerField(required=False, min_value=0, label="Your score")
    score_words = forms.CharField(required=False, max_length=40, label="Your score", help_text="What you counted.")
    felt = forms.ChoiceField(
        required=False, choices=PracticeEntry.Felt, widget=forms.RadioSelect, label="How did it feel?"
    )
    note = forms.CharField(
        required=False,
        max_length=300,
        label="A note or a question",
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Your coach reads it and can answer.",
    )
    day = forms.DateField(
        required=False,
        label="Another day",
        help_text="Leave empty for today.",
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
    )
    another = forms.BooleanField(required=False, label="This was one more practice on the same day")

    def __init__(
        self,
        data: Any = None,
        *,
        prescription: Prescription,
        on: date,
        stored: PracticeEntry | None = None,
        initial: dict[str, Any] | None = None,
        done_on: date | None = None,
    ) -> None:
        first = {"amount": prescription.amount} | (initial or {})
        super().__init__(data, initial=first, auto_id=f"id_{prescription.key}_%s")
        self.prescription, self.on, self.stored = prescription, on, stored
        self.done_on = done_on or on  # the day that is meant where none is typed
        self.first, self.last = reportable_days(prescription, on)
        self.set_amount()
        self.set_score()
        day = self.fields["day"]
        day.widget.attrs |= {"min": self.first.isoformat(), "max": self.last.isoformat()}
        day.error_messages["invalid"] = self.which_day

    def set_amount(self) -> None:
        """The amount in the unit of the dose."""
        amount, unit = self.fields["amount"], self.prescription.unit
        amount.label = f"How many {unit}"
        amount.error_messages |= dict.fromkeys(
            ("invalid", "min_value", "max_value"), f"Type a whole number of {unit}, from 1 to {MOST}."
        )
        amount.widget.attrs["inputmode"] = "numeric"

    def set_score(self) -> None:
        """A number out of as many as the mark is, or words where it is no number."""
        mark = self.prescription.mark_to_reach
        if mark is None:
            del self.fields["score"]
            return
        del self.fields["score_words"]
        widget: forms.Widget = forms.NumberInput(attrs={"inputmode": "numeric", "min": 0, "max": mark.most})
        if mark.of and mark.of <= BUTTONS:
            widget = forms.RadioSelect(choices=[(number, str(number)) for number in range(mark.of + 1)])
        self.fields["score"] = forms.IntegerField(
            required=False,
            min_value=0,
            max_value=mark.most,
            label=f"How many of {mark.of}?" if mark.of else "Your score",
            widget=widget,
            error_messages=dict.fromkeys(
                ("invalid", "min_value", "max_value"), f"Type a whole number from 0 to {mark.most}."
            ),
        )

    @property
    def at_once(self) -> list[forms.BoundField]:
        """The fields in sight."""
        return [self[name] for name in ("score", "score_words", "felt", "amount") if name in self.fields]

    @property
    def more(self) -> list[forms.BoundField]:
        """The fields a tap away."""
        return [self[name] for name in ("note", "day")]

    @property
    def is_more_open(self) -> bool:
        """Whether one of those holds something."""
        return any(field.errors or (self.is_bound and field.value()) for field in self.more)

    @property
    def which_day(self) -> str:
        """The days to choose from, in words."""
        first, last = (date_format(day, "j F") for day in (self.first, self.last))
        return f"Choose {first}." if first == last else f"Choose a day from {first} to {last}."

    def clean_amount(self) -> int:
        """The whole dose if left empty."""
        return self.cleaned_data["amount"] or self.prescription.amount

    def clean_day(self) -> date:
        """The day of the tap if left empty. A report that is sent again keeps its day, however long ago."""
        day: date = self.cleaned_data["day"] or (self.stored.day if self.stored else self.done_on)
        if not self.stored and not self.first <= day <= self.last:
            ahead = f"At the academy it is still {date_format(self.on, 'j F')}. " if day == self.tomorrow else ""
            raise forms.ValidationError(ahead + self.which_day)
        return day

    @property
    def tomorrow(self) -> date:
        """The day after today at the academy, where a phone in another zone may already be."""
        return self.on + timedelta(days=1)

    def clean(self) -> dict[str, Any]:
        """Refuse different values at the address of a stored report, so that neither report is lost."""
        typed: dict[str, Any] = super().clean() or self.cleaned_data
        said = [name for name in typed if name != "another" and self.data.get(name)]
        if self.stored and any(typed[name] != getattr(self.stored, name) for name in said):
            raise forms.ValidationError(
                "Another report was already sent from this page, and it is kept. Send this one again to add it."
            )
        return typed

    def ask_whether_another(self, entry: PracticeEntry) -> None:
        """Ask, rather than count one practice twice: two parents may report the same one."""
        who = "by a guardian" if entry.source == PracticeEntry.Source.GUARDIAN else "by the student"
        when = "today" if entry.day == self.on else date_format(entry.day, "l j F")
        amount = format_amount(entry.amount, self.prescription.unit)
        self.add_error(
            "another",
            f"Already reported for {when} {who}: {amount}. If it is the same practice, you are done. "
            "If it was one more, tick here and send it again.",
        )

    @property
    def report(self) -> dict[str, Any]:
        """What to store, and whether it is another practice of a day."""
        mark = self.prescription.mark_to_reach
        scored = self.cleaned_data.get("score") is not None
        return self.cleaned_data | {"score_of": mark.of if mark and scored else None}
