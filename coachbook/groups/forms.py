"""What is typed about a group: who is in it, and what is the same for all."""

import uuid
from collections import Counter
from collections.abc import Iterable
from datetime import date
from typing import Any

from django import forms
from django.http import QueryDict

from coachbook.accounts.models import Area, Student
from coachbook.forms import offer
from coachbook.groups.log import FEWEST, MOST
from coachbook.groups.models import ForAll
from coachbook.loop.log.forms import FocusForm, Shelves, point_to_slots

NO_AREA = "Choose at least one area."
TOO_FEW = "Tick two students at least; for one alone, log a lesson on their page."
NOT_WITH_YOU = "One of those whom you chose is not with you. Choose again."


def told_apart(students: Iterable[Student]) -> dict[int, str]:
    """A name for each student; two of one name are told apart by playing side and year of birth."""
    found = list(students)
    often = Counter(student.name.casefold() for student in found)
    return {s.pk: s.name if often[s.name.casefold()] == 1 else f"{s.name} ({marks(s)})" for s in found}


def marks(student: Student) -> str:
    """What tells a student from another of the same name."""
    sides = set(student.sides.values())
    side = f"{student.putting_side} side" if len(sides) == 1 else f"putts {student.putting_side}"
    return f"{side}, born {student.birth_year}" if student.birth_year else side


class BeginForm(forms.Form):
    """A group as it begins: its name, when and where, and who is in it."""

    name = forms.CharField(max_length=60, label="Name of the group")
    day = forms.DateField(widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"))
    place = forms.CharField(max_length=80, required=False)
    areas = forms.MultipleChoiceField(
        choices=Area, widget=forms.CheckboxSelectMultiple, error_messages={"required": NO_AREA}
    )
    students = forms.MultipleChoiceField(
        widget=forms.CheckboxSelectMultiple,
        help_text=f"From {FEWEST} to {MOST}. Those whom you saw last come first.",
        error_messages={"required": TOO_FEW, "invalid_choice": NOT_WITH_YOU},
    )

    def __init__(self, data: QueryDict | None, *, students: list[Student], today: date) -> None:
        super().__init__(data, initial={"day": today, "areas": [Area.PUTTING]})
        self.today = today
        self.by_key = {str(student.key): student for student in students}
        names = told_apart(students)
        offer(self, "students", [(key, names[student.pk]) for key, student in self.by_key.items()])

    def clean_day(self) -> date:
        """A day that has come."""
        day: date = self.cleaned_data["day"]
        if day > self.today:
            raise forms.ValidationError("This day has not come yet.")
        if day.year < self.today.year - 20:
            raise forms.ValidationError("Type the year in four digits.")
        return day

    def clean_students(self) -> list[Student]:
        """Enough of them for a group, and not too many."""
        chosen = [self.by_key[key] for key in dict.fromkeys(self.cleaned_data["students"])]
        if len(chosen) < FEWEST:
            raise forms.ValidationError(TOO_FEW)
        if len(chosen) > MOST:
            raise forms.ValidationError(f"Tick {MOST} students at most; you ticked {len(chosen)}.")
        return chosen


class AddForm(forms.Form):
    """Somebody who came later."""

    student = forms.ChoiceField(
        label="Who", error_messages={"required": "Choose a student.", "invalid_choice": NOT_WITH_YOU}
    )

    def __init__(self, data: QueryDict | None, *, students: list[Student], chosen: str = "") -> None:
        super().__init__(data, initial={"student": chosen})
        self.by_key = {str(student.key): student for student in students}
        names = told_apart(students)
        offer(self, "student", [("", "–"), *((key, names[s.pk]) for key, s in self.by_key.items())])

    def clean_student(self) -> Student:
        """The student who was chosen."""
        return self.by_key[self.cleaned_data["student"]]


class SameForm(forms.Form):
    """What is the same for all, apart from what they work on."""

    areas = forms.MultipleChoiceField(
        choices=Area, widget=forms.CheckboxSelectMultiple, error_messages={"required": NO_AREA}
    )
    keep = forms.CharField(
        required=False,
        label="What was good, and to keep",
        help_text="Each student reads this.",
        widget=forms.Textarea({"rows": 2}),
    )
    next_time = forms.CharField(
        required=False,
        label="To look at next time",
        help_text="Each student reads this, too.",
        widget=forms.Textarea({"rows": 2}),
    )

    def __init__(self, data: QueryDict | None, *, said: ForAll) -> None:
        super().__init__(data, initial={"areas": said.areas, "keep": said.keep, "next_time": said.next_time})
        point_to_slots(self)

    def values(self) -> dict[str, Any]:
        """What is stored of it."""
        data = self.cleaned_data
        covered = {area: area in data["areas"] for area in Area.values}
        return {**covered, "keep": data["keep"], "next_time": data["next_time"]}


class GivenForm(FocusForm):
    """What all are given to work on, with its feel, drill and dose: never a trial, which is one person's own."""

    NOT_HERE = ("kind", "reason", "decide_on", "mark")
    TYPED = ("fault", "what", "feel", "drill", "amount", "per_week", "days")

    def __init__(self, data: QueryDict | None, *, session_key: uuid.UUID, shelves: Shelves, said: ForAll) -> None:
        super().__init__(data, key=uuid.uuid5(session_key, "all"), shelves=shelves, initial=typed_before(said))
        for name in self.NOT_HERE:
            self.fields[name].disabled = True

    @property
    def is_blank(self) -> bool:
        """Whether nothing was chosen or written."""
        return not any(self.data.get(self.add_prefix(name), "").strip() for name in self.TYPED)

    @property
    def own_words_open(self) -> bool:
        """Whether the place for own words stands open."""
        return bool(self["what"].value() or self["what"].errors or self["area"].errors)

    def values(self) -> dict[str, Any]:
        """What is stored of it; nothing where it was left blank."""
        if self.is_blank:
            return dict.fromkeys(("fault", "drill", "amount", "per_week", "days")) | {"what": "", "feel": ""}
        focus, (drill, dose) = self.focus_values(), self.drill_and_dose()
        told = {name: focus[name] for name in ("fault", "what", "area", "feel")}
        amounts = {name: getattr(dose, name) if dose else None for name in ("amount", "per_week", "days")}
        return told | {"drill": drill, **amounts} | ({"unit": dose.unit} if dose else {})


def typed_before(said: ForAll) -> dict[str, Any]:
    """The block as it was last said to all."""
    words = {name: getattr(said, name) for name in ("what", "area", "feel", "amount", "unit", "per_week", "days")}
    codes = {"fault": said.fault.code if said.fault else "", "drill": said.drill.code if said.drill else ""}
    return words | codes
