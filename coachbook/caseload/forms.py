"""What a manager types: after how many days a student counts as not seen, and who coaches them from when."""

from collections.abc import Collection, Iterable, Mapping
from datetime import date, timedelta
from typing import Any

from django import forms
from django.db.models import QuerySet

from coachbook.accounts.models import Area, Care, Coach
from coachbook.forms import set_choices, set_queryset

MOST_DAYS = 1000
AHEAD = 90


class DaysForm(forms.Form):
    """After how many days without a lesson a student counts as not seen."""

    days = forms.IntegerField(min_value=1, max_value=MOST_DAYS)

    def __init__(self, asked: str | None, usual: int) -> None:
        super().__init__(None if asked is None else {"days": asked}, initial={"days": usual})
        self.usual = usual
        message = f"“{(asked or '')[:20]}” is not a number of days from 1 to {MOST_DAYS}. Shown for {usual}."
        self.fields["days"].error_messages |= dict.fromkeys(["required", "invalid", "min_value", "max_value"], message)

    @property
    def number(self) -> int:
        """The days asked for, or the academy's own."""
        days: int = self.cleaned_data["days"] if self.is_valid() else self.usual
        return days


def day_field(label: str, **values: Any) -> forms.DateField:
    """A field for a day."""
    return forms.DateField(
        label=label,
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
        error_messages={"required": "Choose a day.", "invalid": "Type a day, such as 2026-06-30."},
        **values,
    )


def coming(day: date, today: date) -> date:
    """A day, if it is today or later, and not so far off that it is forgotten."""
    if day < today:
        raise forms.ValidationError("This day has passed. Choose today or a later one.")
    if day > today + timedelta(days=AHEAD):
        raise forms.ValidationError(f"Choose a day within the next {AHEAD} days.")
    return day


def open_coaches() -> QuerySet[Coach]:
    """The coaches who may take somebody on, by name."""
    return Coach.objects.named().teaching()


class MoveForm(forms.Form):
    """A student's new main coach, and from which day. They keep the areas that they take over."""

    ALL = "all"
    taken_from = forms.ChoiceField(label="Takes over from", widget=forms.RadioSelect)
    coach = forms.ModelChoiceField(
        Coach.objects.none(),
        label="New main coach",
        empty_label="Choose a coach",
        error_messages={
            "required": "Choose a coach.",
            "invalid_choice": "Choose a coach whose account is open and who is not their main coach already.",
        },
    )
    since = day_field("From which day")

    def __init__(self, data: Mapping[str, Any] | None, *, cares: Iterable[Care], today: date, taken_from: str) -> None:
        super().__init__(data, initial={"since": today, "taken_from": taken_from or self.ALL})
        self.today = today
        self.present = [care for care in cares if care.since <= today]
        self.areas = {area for care in self.present for area in care.areas}
        holders = {str(care.coach.user.key): str(care.coach) for care in self.present}
        if len(holders) > 1:
            everybody = (self.ALL, "all of them")
            set_choices(self, "taken_from", [*map(self.named, holders.items()), everybody])
        else:
            del self.fields["taken_from"]
        alone = [care.coach_id for care in self.present if self.is_with(care.coach, self.areas)]
        set_queryset(self, "coach", open_coaches().exclude(pk__in=alone))

    def named(self, holder: tuple[str, str]) -> tuple[str, str]:
        """A present coach with their areas, as a choice."""
        key, name = holder
        return key, f"{name}, {', '.join(area.label.lower() for area in self.areas_of(key))}"

    def areas_of(self, key: str) -> list[Area]:
        """The areas that the coach of this key holds today, or all that anybody holds."""
        held = {area for care in self.present if key in (self.ALL, str(care.coach.user.key)) for area in care.areas}
        return [area for area in Area if area in held]

    def is_with(self, coach: Coach, areas: Collection[Area]) -> bool:
        """Whether the coach holds these areas today, with no end in sight."""
        lasting = [care for care in self.present if care.coach_id == coach.pk and care.until is None]
        return {area for care in lasting for area in care.areas}.issuperset(areas)

    def clean_since(self) -> date:
        """Today or later, and not so far off that it is forgotten."""
        return coming(self.cleaned_data["since"], self.today)

    def clean(self) -> dict[str, Any]:
        """Nobody takes over what they have."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        areas = self.areas_of(data.get("taken_from", self.ALL))
        if (coach := data.get("coach")) and areas and self.is_with(coach, areas):
            self.add_error("coach", f"{coach} is their main coach for that already. Choose another.")
        return data

    @property
    def move(self) -> dict[str, Any]:
        """What was decided, for `move_student`."""
        data = self.cleaned_data
        return {"to": data["coach"], "since": data["since"], "areas": self.areas_of(data.get("taken_from", self.ALL))}
