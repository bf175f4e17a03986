"""An appointment as it is typed: when, where, how long, and whether it comes again."""

from collections.abc import Mapping
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.utils.formats import date_format

from coachbook.accounts.models import Academy, Coach, Student
from coachbook.diary.models import LONGEST, Appointment
from coachbook.diary.recurrence import exists, expand
from coachbook.diary.scheduling import MOST_STUDENTS, MOST_TIMES, Plan, clashes, pauses
from coachbook.forms import choose_among

FARTHEST = 366  # days ahead
EVERY = {"weekly": 1, "fortnightly": 2}
ANYWAY = "Make it all the same"


class AppointmentForm(forms.Form):
    """When a student meets a coach, once or week after week."""

    REPEAT = [("once", "once"), ("weekly", "every week"), ("fortnightly", "every second week")]

    coach = forms.ModelChoiceField(Coach.objects.none(), empty_label=None)
    day = forms.DateField(
        widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"),
        error_messages={"required": "Choose a day.", "invalid": "Type a day, such as 2027-03-22."},
    )
    time = forms.TimeField(
        widget=forms.TimeInput({"type": "time"}, format="%H:%M"),
        error_messages={"required": "Choose a time.", "invalid": "Type a time, such as 16:30."},
    )
    minutes = forms.IntegerField(min_value=5, max_value=LONGEST, initial=60)
    place = forms.CharField(max_length=80, required=False)
    others = forms.ModelMultipleChoiceField(
        Student.objects.none(), required=False, label="Together with", help_text="For several students at one time."
    )
    repeat = forms.ChoiceField(choices=REPEAT, required=False, widget=forms.RadioSelect, label="How often")
    times = forms.IntegerField(
        min_value=2, max_value=MOST_TIMES, required=False, label="How many times", help_text="Or give the last day."
    )
    until = forms.DateField(
        required=False, label="Last day", widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d")
    )
    anyway = forms.BooleanField(required=False, label=ANYWAY)

    def __init__(
        self,
        data: Mapping[str, Any] | None,
        *,
        student: Student,
        academy: Academy,
        at: datetime,
        coaches: Any,
        students: Any,
        stored: Appointment | None = None,
        initial: dict[str, Any] | None = None,
    ) -> None:
        super().__init__(data, initial=initial)
        self.student, self.academy, self.at, self.stored = student, academy, at, stored
        self.zone = ZoneInfo(academy.time_zone)
        choose_among(self, "coach", coaches)
        choose_among(self, "others", students.exclude(pk=student.pk))
        # Whoever the person may not choose is not theirs to leave out either.
        self.stay = list(stored.students.exclude(pk=student.pk).exclude(pk__in=students)) if stored else []
        for name in ("minutes", "times"):
            self.fields[name].widget.attrs["inputmode"] = "numeric"
        if stored:
            for name in ("repeat", "times", "until"):
                del self.fields[name]
        if data is None:  # the way to go on knowingly stands on the page once something was said against it
            del self.fields["anyway"]

    def clean_others(self) -> list[Student]:
        """Not more than a group."""
        others = list(self.cleaned_data["others"])
        if (count := 1 + len(others) + len(self.stay)) > MOST_STUDENTS:
            raise forms.ValidationError(f"{MOST_STUDENTS} students at most; these are {count}.")
        return others

    def clean(self) -> dict[str, Any]:
        """A time that is to come, that the clocks show, and that is free."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if self.stored and self.stored.status != Appointment.Status.PLANNED:
            self.add_error(None, "Only a planned appointment can move. Plan it again first.")
        if self.errors:
            return data
        first = datetime.combine(data["day"], data["time"], self.zone)
        self.check_first(first)
        if not self.errors:
            self.moments = self.moments_from(first)
        if not self.errors and not data.get("anyway"):
            self.warn()
        return data

    def check_first(self, first: datetime) -> None:
        """The first moment: neither past, nor too far off, nor in the hour that a change of the clocks leaves out."""
        if not exists(first):
            self.add_error("time", "The clocks go forward that night and leave this time out. Choose another.")
        elif first <= self.at and not (self.stored and self.stored.starts_at == first):
            self.add_error("day", "This time has passed. Choose a later one.")
        elif first > self.at + timedelta(days=FARTHEST):
            self.add_error("day", "Choose a day within a year.")

    def moments_from(self, first: datetime) -> list[datetime]:
        """Every moment in UTC; a series keeps its time of day over a change of the clocks."""
        if not self.rule:
            return [first.astimezone(UTC)]
        data = self.cleaned_data
        if not data.get("times") and not data.get("until"):
            self.add_error("times", "Say how many times, or until which day.")
            return []
        if data.get("times") and data.get("until"):
            self.add_error("until", "Give the number or the last day, not both.")
            return []
        if data.get("until") and data["until"] < data["day"]:
            self.add_error("until", "The last day comes before the first appointment.")
            return []
        found = expand(self.rule, first, MOST_TIMES + 1)
        if len(found) > MOST_TIMES or found[-1] > first + timedelta(days=FARTHEST):
            self.add_error("until", f"{MOST_TIMES} appointments within a year at most.")
        if len(found) < 2:
            self.add_error("until", "The last day comes before the second appointment.")
        if skipped := [moment for moment in found if not exists(moment)]:
            self.add_error("time", f"On {named(skipped[0].date())} the clocks go forward and leave this time out.")
        return [moment.astimezone(UTC) for moment in found]

    @property
    def rule(self) -> str:
        """The rule of a series by RFC 5545, or nothing."""
        every = EVERY.get(self.cleaned_data.get("repeat", ""))
        if not every:
            return ""
        until, times = self.cleaned_data.get("until"), self.cleaned_data.get("times")
        if until:
            last = datetime.combine(until, time(23, 59, 59), self.zone).astimezone(UTC)
            return f"FREQ=WEEKLY;INTERVAL={every};UNTIL={last:%Y%m%dT%H%M%SZ}"
        return f"FREQ=WEEKLY;INTERVAL={every};COUNT={times}"

    @property
    def plan(self) -> Plan:
        """What was typed, for `make` and `move`."""
        data = self.cleaned_data
        students = [self.student, *data["others"]]
        return Plan(data["coach"], students, self.moments, data["minutes"], data["place"], self.rule)

    def warn(self) -> None:
        """Say at once what stands in the way; a person may go on knowingly."""
        days = [moment.astimezone(self.zone).date() for moment in self.moments]
        for pause in pauses(self.plan.students, days):
            until = f" until {named(pause.until)}" if pause.until else ""
            words = f"{pause.student} pauses since {named(pause.since)}{until}: {pause.get_reason_display().lower()}."
            self.add_error("day", words)
        for row in clashes(self.plan, but=self.stored)[:5]:
            self.add_error("time", self.clash_words(row))

    def clash_words(self, row: Appointment) -> str:
        """What is there already."""
        there = row.starts_at.astimezone(self.zone)
        known = {student.pk for student in self.plan.students}
        ours = ", ".join(student.name for student in row.students.all() if student.pk in known)
        who = ours or f"{row.coach} with somebody else"
        return f"{who} has an appointment on {named(there.date())} at {there:%H:%M}."


def named(day: date) -> str:
    """A day in words."""
    return date_format(day, "l j F Y")
