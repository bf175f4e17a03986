"""What is typed about who teaches whom: a second coach for a student, or a whole caseload in other hands."""

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from django import forms
from django.utils.formats import date_format

from coachbook.accounts.models import Area, Care, Coach, Student
from coachbook.caseload.care.assignments import area_columns
from coachbook.caseload.care.second_coach import SECOND, main_cares_among, overlapping
from coachbook.caseload.forms import coming, day_field, open_coaches
from coachbook.forms import set_queryset

LONGEST_NOTE = 1000
ENDS_FIRST = "The last day is before the first one."


def coach_field(label: str, otherwise: str) -> "forms.ModelChoiceField[Coach]":
    """A field for a coach whose account is open."""
    problems = {"required": "Choose a coach.", "invalid_choice": f"Choose a coach whose account is open{otherwise}."}
    return forms.ModelChoiceField(
        Coach.objects.none(), label=label, empty_label="Choose a coach", error_messages=problems
    )


def note_field(label: str) -> forms.CharField:
    """A field for a note that coaches and managers read."""
    problems = {"max_length": f"Write {LONGEST_NOTE} characters at most."}
    return forms.CharField(
        label=label,
        required=False,
        max_length=LONGEST_NOTE,
        widget=forms.Textarea({"rows": 3}),
        help_text="Coaches and managers read this on the student’s page, students and guardians do not.",
        error_messages=problems,
    )


def listed(areas: list[Area]) -> str:
    """Some areas in one phrase."""
    return ", ".join(area.label.lower() for area in areas)


class CareForm(forms.Form):
    """A cover or assistant coach for a student, for some areas and days."""

    coach = coach_field("Coach", "")
    role = forms.ChoiceField(
        choices=[(role.value, role.label.capitalize()) for role in SECOND],
        widget=forms.RadioSelect,
        help_text="A covering coach takes the main coach’s place and may also change details. "
        "An assistant only teaches.",
        error_messages={"required": "Choose one of the two.", "invalid_choice": "Choose one of the two."},
    )
    areas = forms.MultipleChoiceField(
        choices=Area,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one area.", "invalid_choice": "Choose among these areas."},
    )
    since = day_field("From")
    until = day_field("Last day", required=False, help_text="Leave it empty if there is no end in sight.")
    note = note_field("Note for this coach")

    def __init__(self, data: Mapping[str, Any] | None, *, student: Student, cares: Iterable[Care], today: date) -> None:
        usual = {"role": Care.Role.COVER, "areas": Area.values, "since": today}
        super().__init__(data, initial=usual)
        self.student, self.cares, self.today = student, list(cares), today
        set_queryset(self, "coach", open_coaches())

    def clean_since(self) -> date:
        """Nobody can have taught since a day that has passed without having been asked."""
        return coming(self.cleaned_data["since"], self.today)

    def clean(self) -> dict[str, Any]:
        """Care ends after it begins, and is not given to one who has it."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if not self.errors and data["until"] and data["until"] < data["since"]:
            self.add_error("until", ENDS_FIRST)
        if not self.errors and (has := self.has_already()):
            self.add_error("coach", already_words(has))
        return data

    def has_already(self) -> Care | None:
        """What stands against it: the same coach, as the same or as main coach, for one of the areas and days.

        The very same care is no contradiction: somebody posted the page twice.
        """
        asked = {**self.care, **area_columns(self.care["areas"])}
        new = Care(**{name: value for name, value in asked.items() if name != "areas"})
        same = ("role", "since", "until", "note", "areas")
        theirs = [
            care for care in self.cares if care.coach_id == new.coach_id and care.role in (new.role, Care.Role.MAIN)
        ]
        others = [care for care in theirs if any(getattr(care, name) != getattr(new, name) for name in same)]
        return next((care for care in others if meet(care, new) and set(care.areas) & set(new.areas)), None)

    @property
    def care(self) -> dict[str, Any]:
        """What was deciding, for `add_second_coach`."""
        data = self.cleaned_data
        areas = [Area(area) for area in data["areas"]]
        return {**data, "role": Care.Role(data["role"]), "areas": areas}


def meet(one: Care, other: Care) -> bool:
    """Whether some day belongs to both."""
    return one.since <= (other.until or date.max) and other.since <= (one.until or date.max)


def already_words(care: Care) -> str:
    """That somebody has this care, in words."""
    end = f" until {date_format(care.until, 'j F Y')}" if care.until else ""
    days = f"from {date_format(care.since, 'j F Y')}{end}"
    return f"{care.coach} is {care.get_role_display()} coach for {listed(care.areas)} already, {days}."


class HandOverForm(forms.Form):
    """Who takes over all students of a coach, from which day, and whether for good."""

    GOOD, COVER = "good", "cover"
    to = coach_field("Who takes over", " and who is another one")
    manner = forms.ChoiceField(
        label="For how long",
        choices=[(GOOD, "For good: they become main coach"), (COVER, "As covering coach, until a last day")],
        widget=forms.RadioSelect,
        error_messages={"required": "Choose one of the two.", "invalid_choice": "Choose one of the two."},
    )
    since = day_field("From")
    until = day_field("Last day", required=False, help_text="For a covering coach only.")
    note = note_field("Note for the one who takes over")

    def __init__(self, data: Mapping[str, Any] | None, *, coach: Coach, today: date) -> None:
        super().__init__(data, initial={"since": today})
        self.coach, self.today = coach, today
        self.cares: list[Care] = []  # all care of the coach of these days, once they are known
        set_queryset(self, "to", open_coaches().exclude(pk=coach.pk))

    def clean_since(self) -> date:
        """Today or later, and not so far off that it is forgotten."""
        return coming(self.cleaned_data["since"], self.today)

    def clean(self) -> dict[str, Any]:
        """A covering coach has a last day, whoever takes over for good has none; and there is somebody to hand over."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if not self.errors and (problem := self.wrong_end(data["manner"], data["since"], data["until"])):
            self.add_error("until", problem)
        if not self.errors:
            of_coach = self.coach.cares.select_related("student").order_by("since", "pk")
            self.cares = list(overlapping(of_coach, data["since"], data["until"]))
            if not main_cares_among(self.cares):
                self.add_error("since", f"Nobody is in the care of {self.coach} then.")
        return data

    def wrong_end(self, manner: str, since: date, until: date | None) -> str:
        """What is wrong with the last day, or nothing."""
        if manner == self.GOOD:
            return "For good has no last day. Leave it empty, or choose a covering coach." if until else ""
        if until is None:
            return "Choose the last day of the covering coach."
        return ENDS_FIRST if until < since else ""

    @property
    def hand_over(self) -> dict[str, Any]:
        """What was deciding, for `hand_over`."""
        return {name: self.cleaned_data[name] for name in ("to", "since", "until", "note")}
