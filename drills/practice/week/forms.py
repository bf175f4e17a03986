"""The form in which a student, or a guardian for them, picks the days of practice."""

from django import forms
from django.db import transaction

from coachbook.accounts.models import Student
from drills.practice.week.gather import StudentWeek
from drills.practice.week.models import FEWEST, MOST, WEEKDAYS, PracticeDays

SAY_MINUTES = f"Type a whole number of minutes, from {FEWEST} to {MOST}, or leave it empty."


class PracticeDaysForm(forms.Form):
    """The days of a week, and the minutes of each."""

    days = forms.TypedMultipleChoiceField(
        label="Days",
        coerce=int,
        choices=[(number, day.capitalize()) for number, day in enumerate(WEEKDAYS)],
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Pick at least one day.", "invalid_choice": "Pick days of the week."},
    )
    minutes = forms.IntegerField(
        label="Minutes a day",
        required=False,
        min_value=FEWEST,
        max_value=MOST,
        help_text="Leave it empty for as long as the drills take.",
        error_messages=dict.fromkeys(("invalid", "min_value", "max_value"), SAY_MINUTES),
        widget=forms.NumberInput({"inputmode": "numeric"}),
    )

    @classmethod
    def of(cls, week: StudentWeek) -> "PracticeDaysForm":
        """The form with the days of a week ticked."""
        return cls(initial={"days": week.weekdays, "minutes": week.minutes})

    @transaction.atomic
    def save(self, student: Student) -> PracticeDays:
        """Store the days; what is stored already stays as it is."""
        # Both parents may pick at once, and there is one row.
        Student.objects.select_for_update().get(pk=student.pk)
        row = PracticeDays.objects.filter(student=student).first() or PracticeDays(student=student)
        before = (row.weekdays, row.minutes)
        row.pick(self.cleaned_data["days"])
        row.minutes = self.cleaned_data["minutes"]
        if row.pk is None or before != (row.weekdays, row.minutes):
            row.save()
        return row
