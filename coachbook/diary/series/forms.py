"""What is typed to move a series from one of its days on."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from django import forms
from django.db.models import QuerySet

from coachbook.accounts.models import Care, Coach
from coachbook.diary.following.touched import teaches
from coachbook.diary.forms import ANYWAY, MAX_DAYS_AHEAD, clash_words
from coachbook.diary.models import MAX_MINUTES, Appointment
from coachbook.diary.recurrence import exists_in_zone
from coachbook.diary.scheduling import Plan, find_clashes, find_pauses
from coachbook.diary.series.rest import Rest
from coachbook.diary.wording import day_in_words
from coachbook.forms import set_queryset


class SeriesForm(forms.Form):
    """Another day, time, place or coach for a lesson of a series and for all later ones."""

    STAY, MOVE = "stay", "move"
    coach = forms.ModelChoiceField(Coach.objects.none(), empty_label=None)
    day = forms.DateField(
        label="Day of the first of them",
        widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"),
        help_text="The later ones move by as many days.",
        error_messages={"required": "Choose a day.", "invalid": "Type a day, such as 2027-03-22."},
    )
    time = forms.TimeField(
        widget=forms.TimeInput({"type": "time"}, format="%H:%M"),
        error_messages={"required": "Choose a time.", "invalid": "Type a time, such as 16:30."},
    )
    minutes = forms.IntegerField(min_value=5, max_value=MAX_MINUTES)
    place = forms.CharField(max_length=80, required=False)
    by_hand = forms.ChoiceField(
        label="Those that were moved by hand",
        choices=[(STAY, "Leave them as they are"), (MOVE, "Move them, too")],
        widget=forms.RadioSelect,
        error_messages={"required": "Choose one of the two.", "invalid_choice": "Choose one of the two."},
    )
    anyway = forms.BooleanField(required=False, label=ANYWAY)

    def __init__(self, data: Mapping[str, Any] | None, *, rest: Rest, at: datetime, coaches: "QuerySet[Coach]") -> None:
        local = rest.first.starts_at.astimezone(rest.zone)
        first = {"coach": rest.first.coach, "minutes": rest.first.minutes, "place": rest.first.place}
        super().__init__(data, initial={**first, "day": local.date(), "time": local.time(), "by_hand": self.STAY})
        self.rest, self.at = rest, at
        self.moments: dict[Appointment, datetime] = {}  # once they are known to be possible
        set_queryset(self, "coach", coaches)
        self.fields["minutes"].widget.attrs["inputmode"] = "numeric"
        if not rest.by_hand:
            del self.fields["by_hand"]
        if data is None:  # the box to save it anyway appears with the first warning
            del self.fields["anyway"]

    def clean(self) -> dict[str, Any]:
        """Times to come that exist, and that are free."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if self.rest.first.status != Appointment.Status.PLANNED:
            self.add_error(None, "Only a planned lesson can move. Plan it again first.")
        elif self.rest.first.has_begun(self.at):
            self.add_error(None, "This lesson has begun. Move the series from the next one on.")
        if self.errors:
            return data
        moments = self.rest.moments(data["day"], data["time"], with_by_hand=data.get("by_hand") == self.MOVE)
        for moment in moments.values():
            self.check(moment)
        if not self.errors:
            self.moments = moments
            if not data.get("anyway"):
                self.warn()
        return data

    def check(self, moment: datetime) -> None:
        """Check that a moment is to come, within a year, and not in the hour that the clocks leave out."""
        day = day_in_words(moment.date())
        if not exists_in_zone(moment):
            self.add_error("time", f"On {day} the clocks go forward, so this time does not exist.")
        elif moment <= self.at:
            self.add_error("day", f"{day} at {moment:%H:%M} has passed. Choose a later day.")
        elif moment > self.at + timedelta(days=MAX_DAYS_AHEAD):
            self.add_error("day", "Choose a day within a year.")

    def warn(self) -> None:
        """Report pauses, clashes, and a coach who does not coach them; a person may save it anyway."""
        students = list({student.pk: student for row in self.moments for student in row.students.all()}.values())
        moments, coach = sorted(self.moments.values()), self.cleaned_data["coach"]
        days = [moment.date() for moment in moments]
        for pause in find_pauses(students, days):
            self.add_error("day", f"One who comes is pausing from {day_in_words(pause.since)} on.")
        plan = Plan(coach, students, moments, self.cleaned_data["minutes"], self.cleaned_data["place"])
        moving = {row.pk for row in self.moments}
        clashes = [row for row in find_clashes(plan) if row.pk not in moving]
        for row in clashes[:5]:
            self.add_error("time", clash_words(row, set(), self.rest.zone))
        cares = list(Care.objects.filter(coach=coach, student__in=students))
        if coach != self.rest.first.coach and not all(teaches(cares, coach.pk, students, day) for day in days):
            self.add_error("coach", f"{coach} does not coach all who come on these days.")
