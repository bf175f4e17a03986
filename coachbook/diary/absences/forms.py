"""The form in which somebody reports that a student cannot come."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from django import forms

from coachbook.accounts.models import Student
from coachbook.diary.models import Absence
from coachbook.diary.wording import day_in_words
from coachbook.forms import LongTextField

MAX_DAYS = 366  # a longer time is a pause, which a coach records


class AbsenceForm(forms.Form):
    """Days on which a student cannot come."""

    first_day = forms.DateField(
        label="First day",
        widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"),
        error_messages={"required": "Choose a day.", "invalid": "Type a day, such as 2027-03-22."},
    )
    last_day = forms.DateField(
        label="Last day",
        required=False,
        widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"),
        help_text="Leave it empty for one day.",
        error_messages={"invalid": "Type a day, such as 2027-03-22."},
    )
    reason = forms.ChoiceField(
        label="What is it?",
        choices=[("busy", "Cannot come"), ("ill", "Ill"), ("away", "Away")],
        widget=forms.RadioSelect,
        error_messages={"required": "Choose one."},
    )
    words = LongTextField(
        label="A word to the coach",
        required=False,
        max_length=300,
        widget=forms.Textarea({"rows": 2}),
        help_text="Only if you like: nobody needs to explain.",
    )

    def __init__(
        self, data: Mapping[str, Any] | None = None, *, student: Student, today: date, day: date | None = None
    ) -> None:
        super().__init__(data, initial={"first_day": day, "reason": Absence.Reason.BUSY})
        self.student, self.today = student, today
        self.fields["first_day"].widget.attrs["min"] = today.isoformat()

    def clean(self) -> dict[str, Any]:
        """Days from today on, in their order, that nobody has reported yet."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if self.errors:
            return data
        data["last_day"] = data["last_day"] or data["first_day"]
        self.check_days(data["first_day"], data["last_day"])
        if not self.errors:
            self.check_overlap(data["first_day"], data["last_day"])
        return data

    def check_days(self, first: date, last: date) -> None:
        """Check that the days are to come, and in their order."""
        if last < first:
            self.add_error("last_day", "This day comes before the first one.")
        elif first < self.today:
            self.add_error("first_day", "This day has passed. For a lesson that is over, send a message instead.")
        elif last > self.today + timedelta(days=MAX_DAYS):
            self.add_error("last_day", "Choose days within a year.")

    def check_overlap(self, first: date, last: date) -> None:
        """Check that none of the days was reported before."""
        earlier = self.student.absences.standing().between(first, last).first()
        if earlier:
            self.add_error(
                "first_day",
                f"{days_in_words(earlier)} is reported already. Withdraw that above, or choose other days.",
            )


def days_in_words(absence: Absence) -> str:
    """The days of an absence: "Monday 30 November", "Monday 30 November to Friday 4 December"."""
    first, last = day_in_words(absence.first_day), day_in_words(absence.last_day)
    return first if absence.first_day == absence.last_day else f"{first} to {last}"
