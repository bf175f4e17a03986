"""The form of an appointment: when, where, how long, and whether it is repeated."""

from collections.abc import Collection, Mapping
from datetime import UTC, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms

from coachbook.accounts.models import Academy, Coach, Student
from coachbook.diary.models import MAX_MINUTES, Appointment
from coachbook.diary.recurrence import INTERVALS, count_rule, exists_in_zone, expand, until_rule
from coachbook.diary.scheduling import MAX_APPOINTMENTS, MAX_STUDENTS, Plan, find_clashes, find_pauses
from coachbook.diary.wording import day_in_words, series_in_words
from coachbook.forms import RowsField, set_queryset

MAX_DAYS_AHEAD = 366
ANYWAY = "Save it anyway"


class AppointmentForm(forms.Form):
    """A time at which a student meets a coach, once or every week or two."""

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
    minutes = forms.IntegerField(min_value=5, max_value=MAX_MINUTES, initial=60)
    place = forms.CharField(max_length=80, required=False)
    others = RowsField(
        Student.objects.none(), required=False, label="Together with", help_text="For several students at one time."
    )
    repeat = forms.ChoiceField(choices=REPEAT, required=False, widget=forms.RadioSelect, label="How often")
    times = forms.IntegerField(
        min_value=2,
        max_value=MAX_APPOINTMENTS,
        required=False,
        label="How many times",
        help_text="Or choose the last day.",
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
        self.moments: list[datetime] = []  # once they are known to be possible
        set_queryset(self, "coach", coaches)
        set_queryset(self, "others", students.exclude(pk=student.pk))
        # Students whom the person may not choose remain: they may not be removed either.
        self.stay = list(stored.students.exclude(pk=student.pk).exclude(pk__in=students)) if stored else []
        for name in ("minutes", "times"):
            self.fields[name].widget.attrs["inputmode"] = "numeric"
        if stored:
            for name in ("repeat", "times", "until"):
                del self.fields[name]
        if data is None:  # the box to save it anyway appears with the first warning
            del self.fields["anyway"]

    def clean_others(self) -> list[Student]:
        """At most as many as a group."""
        others = list(self.cleaned_data["others"])
        if (count := 1 + len(others) + len(self.stay)) > MAX_STUDENTS:
            raise forms.ValidationError(f"{MAX_STUDENTS} students at most; these are {count}.")
        return others

    def clean(self) -> dict[str, Any]:
        """A time in the future that exists, and that is free."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if self.stored and self.stored.status != Appointment.Status.PLANNED:
            self.add_error(None, "Only a planned appointment can move. Plan it again first.")
        if self.errors:
            return data
        first = datetime.combine(data["day"], data["time"], self.zone)
        self.check_first(first)
        if not self.errors:
            moments = self.moments_from(first)
            self.moments = [] if self.errors else moments
        if self.moments and not data.get("anyway"):
            self.warn()
        return data

    def check_first(self, first: datetime) -> None:
        """Check that the first moment is neither past, nor too far ahead, nor in the hour that the clocks leave out."""
        if not exists_in_zone(first):
            self.add_error("time", "The clocks go forward that night, so this time does not exist. Choose another.")
        elif first <= self.at and not (self.stored and self.stored.starts_at == first):
            self.add_error("day", "This time has passed. Choose a later one.")
        elif first > self.at + timedelta(days=MAX_DAYS_AHEAD):
            self.add_error("day", "Choose a day within a year.")

    def moments_from(self, first: datetime) -> list[datetime]:
        """Every moment in UTC; a series keeps its time of day when the clocks change."""
        if not self.rule:
            return [first.astimezone(UTC)]
        data = self.cleaned_data
        if not data.get("times") and not data.get("until"):
            self.add_error("times", "Type how many times, or choose the last day.")
            return []
        if data.get("times") and data.get("until"):
            self.add_error("until", "Choose the number or the last day, not both.")
            return []
        if data.get("until") and data["until"] < data["day"]:
            self.add_error("until", "The last day comes before the first appointment.")
            return []
        found = expand(self.rule, first, MAX_APPOINTMENTS + 1)
        if len(found) > MAX_APPOINTMENTS or found[-1] > first + timedelta(days=MAX_DAYS_AHEAD):
            self.add_error("until", f"{MAX_APPOINTMENTS} appointments within a year at most.")
        if len(found) < 2:
            self.add_error("until", "The last day comes before the second appointment.")
        if skipped := [moment for moment in found if not exists_in_zone(moment)]:
            self.add_error(
                "time", f"On {day_in_words(skipped[0].date())} the clocks go forward, so this time does not exist."
            )
        return [moment.astimezone(UTC) for moment in found]

    @property
    def rule(self) -> str:
        """The rule of a series by RFC 5545, or an empty text."""
        every = INTERVALS.get(self.cleaned_data.get("repeat", ""))
        if not every:
            return ""
        until, times = self.cleaned_data.get("until"), self.cleaned_data.get("times")
        if until:
            return until_rule(every, datetime.combine(until, time(23, 59, 59), self.zone))
        return count_rule(every, times)

    @property
    def series_words(self) -> str:
        """All days of the series that was typed, or an empty text."""
        return series_in_words([moment.astimezone(self.zone) for moment in self.moments]) if self.moments[1:] else ""

    @property
    def plan(self) -> Plan:
        """What was typed, for `create_appointments` and `move_appointment`."""
        data = self.cleaned_data
        students = [self.student, *data["others"]]
        return Plan(data["coach"], students, self.moments, data["minutes"], data["place"], self.rule)

    def warn(self) -> None:
        """Report pauses and other appointments at that time; a person may save it anyway."""
        days = [moment.astimezone(self.zone).date() for moment in self.moments]
        for pause in find_pauses(self.plan.students, days):
            until = f" until {day_in_words(pause.until)}" if pause.until else ""
            reason = pause.get_reason_display().lower()
            self.add_error("day", f"{pause.student} is pausing from {day_in_words(pause.since)}{until}: {reason}.")
        for row in find_clashes(self.plan, other_than=self.stored)[:5]:
            self.add_error("time", clash_words(row, {student.pk for student in self.plan.students}, self.zone))


def clash_words(row: Appointment, chosen: Collection[int], zone: ZoneInfo) -> str:
    """Who of the chosen students (their ids) has an appointment already, or else the coach, and when."""
    starts_at = row.starts_at.astimezone(zone)
    ours = ", ".join(student.name for student in row.students.all() if student.pk in chosen)
    who = ours or f"{row.coach} with somebody else"
    return f"{who} has an appointment on {day_in_words(starts_at.date())} at {starts_at:%H:%M}."
