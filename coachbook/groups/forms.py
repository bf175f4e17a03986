"""The forms of a group: who is in it, and what is the same for everyone."""

import uuid
from collections import Counter
from collections.abc import Iterable
from datetime import date
from typing import Any

from django import forms
from django.http import QueryDict

from coachbook.accounts.models import Area, Student
from coachbook.forms import LongTextField, set_choices
from coachbook.groups.models import GroupDefaults
from coachbook.groups.session import FEWEST, MOST
from coachbook.loop.log.catalogue import CatalogueChoices
from coachbook.loop.log.forms import FocusForm, link_error_messages
from lessons.models import Lesson

NO_AREA = "Choose at least one area."
TOO_FEW = "Tick at least two students. For one student, log a lesson on their page."
NOT_WITH_YOU = "One of the students you chose is not one of yours. Choose again."


def distinct_names(students: Iterable[Student]) -> dict[int, str]:
    """A name for each student; those of the same name get their playing side and year of birth added."""
    found = list(students)
    often = Counter(student.name.casefold() for student in found)
    return {s.pk: s.name if often[s.name.casefold()] == 1 else f"{s.name} ({distinguishing_details(s)})" for s in found}


def distinguishing_details(student: Student) -> str:
    """The playing side and year of birth, to distinguish students of the same name."""
    sides = set(student.sides.values())
    side = f"{student.putting_side} side" if len(sides) == 1 else f"putts {student.putting_side}"
    return f"{side}, born {student.birth_year}" if student.birth_year else side


class BeginForm(forms.Form):
    """A new group: its name, when and where, and who is in it."""

    name = forms.CharField(max_length=60, required=False, label="Name of the group")
    day = forms.DateField(widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"))
    place = forms.CharField(max_length=80, required=False)
    areas = forms.MultipleChoiceField(
        choices=Area, widget=forms.CheckboxSelectMultiple, error_messages={"required": NO_AREA}
    )
    students = forms.MultipleChoiceField(
        widget=forms.CheckboxSelectMultiple,
        help_text=f"From {FEWEST} to {MOST}. Those you saw most recently come first.",
        error_messages={"required": TOO_FEW, "invalid_choice": NOT_WITH_YOU},
    )

    def __init__(self, data: QueryDict | None, *, students: list[Student], today: date) -> None:
        super().__init__(data, initial={"day": today, "areas": [Area.PUTTING]})
        self.today = today
        self.by_key = {str(student.key): student for student in students}
        names = distinct_names(students)
        set_choices(self, "students", [(key, names[student.pk]) for key, student in self.by_key.items()])

    def clean_day(self) -> date:
        """A day that is not in the future."""
        day: date = self.cleaned_data["day"]
        if day > self.today:
            raise forms.ValidationError("This day is in the future.")
        if day.year < self.today.year - 20:
            raise forms.ValidationError("Type the year in four digits.")
        return day

    def clean_students(self) -> list[Student]:
        """From two to twenty students, without doubles."""
        chosen = [self.by_key[key] for key in dict.fromkeys(self.cleaned_data["students"])]
        if len(chosen) < FEWEST:
            raise forms.ValidationError(TOO_FEW)
        if len(chosen) > MOST:
            raise forms.ValidationError(f"Tick at most {MOST} students; you ticked {len(chosen)}.")
        return chosen


class AddForm(forms.Form):
    """Add a student who came later."""

    student = forms.ChoiceField(
        label="Student", error_messages={"required": "Choose a student.", "invalid_choice": NOT_WITH_YOU}
    )

    def __init__(self, data: QueryDict | None, *, students: list[Student], chosen: str = "") -> None:
        super().__init__(data, initial={"student": chosen})
        self.by_key = {str(student.key): student for student in students}
        names = distinct_names(students)
        set_choices(self, "student", [("", "–"), *((key, names[s.pk]) for key, s in self.by_key.items())])

    def clean_student(self) -> Student:
        """The student who was chosen."""
        return self.by_key[self.cleaned_data["student"]]


class MemberForm(forms.Form):
    """Where one student differs: no focus, the drill beside those they have, and the reason for a third focus."""

    skips_focus = forms.BooleanField(required=False, label="Skip the focus")
    adds_drill = forms.BooleanField(required=False, label="Give the drill, too")
    reason = forms.CharField(max_length=200, required=False, label="Reason for a third focus")

    def __init__(self, data: QueryDict | None, *, lesson: Lesson, initial: dict[str, Any]) -> None:
        super().__init__(data, prefix=str(lesson.key), initial=initial)
        link_error_messages(self)


class GroupNotesForm(forms.Form):
    """What is the same for everyone, except the focus."""

    areas = forms.MultipleChoiceField(
        choices=Area, widget=forms.CheckboxSelectMultiple, error_messages={"required": NO_AREA}
    )
    keep = LongTextField(
        required=False,
        label="What was good: keep it",
        help_text="Each student reads this.",
        widget=forms.Textarea({"rows": 2}),
    )
    next_time = LongTextField(
        required=False,
        label="To look at next time",
        help_text="Each student reads this, too.",
        widget=forms.Textarea({"rows": 2}),
    )

    def __init__(self, data: QueryDict | None, *, defaults: GroupDefaults) -> None:
        super().__init__(
            data, initial={"areas": defaults.areas, "keep": defaults.keep, "next_time": defaults.next_time}
        )
        link_error_messages(self)

    def values(self) -> dict[str, Any]:
        """The values to store."""
        data = self.cleaned_data
        covered = {area: area in data["areas"] for area in Area.values}
        return {**covered, "keep": data["keep"], "next_time": data["next_time"]}


class GroupFocusForm(FocusForm):
    """The focus for everyone, with its feel, drill and dose; never a trial, which is for one person."""

    LEFT_OUT = ("kind", "reason", "decide_on", "mark")
    TYPED = ("fault", "what", "feel", "drill", "other_drill", "amount", "per_week", "days")

    def __init__(
        self, data: QueryDict | None, *, session_key: uuid.UUID, catalogue: CatalogueChoices, defaults: GroupDefaults
    ) -> None:
        super().__init__(
            data, key=uuid.uuid5(session_key, "all"), catalogue=catalogue, initial=initial_values(defaults)
        )
        for name in self.LEFT_OUT:
            self.fields[name].disabled = True
        self.fields["other_drill"].label = "Drill"

    @property
    def is_blank(self) -> bool:
        """Whether nothing was chosen or written."""
        return not any(self.data.get(self.add_prefix(name), "").strip() for name in self.TYPED)

    @property
    def is_own_words_open(self) -> bool:
        """Whether the fields for own words are unfolded."""
        return bool(self["what"].value() or self["what"].errors or self["area"].errors)

    def values(self) -> dict[str, Any]:
        """The values to store; empty ones if it was left blank."""
        if self.is_blank:
            return dict.fromkeys(("fault", "drill", "amount", "per_week", "days")) | {"what": "", "feel": ""}
        focus, (drill, dose) = self.focus_values(), self.drill_and_dose()
        values = {name: focus[name] for name in ("fault", "what", "area", "feel")}
        amounts = {name: getattr(dose, name) if dose else None for name in ("amount", "per_week", "days")}
        return values | {"drill": drill, **amounts} | ({"unit": dose.unit} if dose else {})


def initial_values(defaults: GroupDefaults) -> dict[str, Any]:
    """The values of the form as they were last saved."""
    words = {name: getattr(defaults, name) for name in ("what", "area", "feel", "amount", "unit", "per_week", "days")}
    codes = {
        "fault": defaults.fault.code if defaults.fault else "",
        "other_drill": defaults.drill.code if defaults.drill else "",
    }
    return words | codes
