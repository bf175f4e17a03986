"""The catalogue as a log offers it: skills with their faults, drills, and fields that find either by name."""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from typing import Any

from django import forms

from coachbook.accounts.models import Area, Coach, Student
from drills.library.fitting import OfferedDrill, fitting_drills, read_offered
from drills.models import Drill
from lessons.joined import read_skills
from lessons.models import Fault, Lesson, Skill


class CatalogueField(forms.CharField):
    """A row of the catalogue by its name, found in a list by two letters, or by its code; the code is kept."""

    def __init__(self, *, names: str, message: str, **kwargs: Any) -> None:
        widget = forms.TextInput({"list": names, "autocomplete": "off"})
        super().__init__(required=False, widget=widget, max_length=200, **kwargs)
        self.message = message
        self.labels: Mapping[str, str] = {}

    def offer(self, labels: Mapping[str, str]) -> None:
        """Set the rows that can be found, as names by code."""
        self.labels = labels
        self.codes = {label.casefold(): code for code, label in labels.items()} | {code: code for code in labels}

    def clean(self, value: Any) -> str:
        """The code of what was typed."""
        typed = super().clean(value)
        if typed and typed.casefold() not in self.codes:
            raise forms.ValidationError(self.message)
        return self.codes[typed.casefold()] if typed else ""

    def prepare_value(self, value: Any) -> Any:
        """The name that is shown for a code."""
        return self.labels.get(value, value)


def distinct(names: Mapping[str, str]) -> dict[str, str]:
    """The names by code, each once: to a name that several have, the code is added."""
    count = Counter(name.casefold() for name in names.values())
    return {code: name if count[name.casefold()] == 1 else f"{name} ({code})" for code, name in names.items()}


class CatalogueChoices:
    """Skills with their faults, and drills, as a log offers them; read from the database once for all its forms."""

    def __init__(self, skills: Iterable[Skill], drills: list[OfferedDrill]) -> None:
        self.skills = sorted(skills, key=lambda skill: Area.values.index(skill.area))  # putting first
        self.faults = {fault.code: fault for skill in self.skills for fault in skill.faults.all()}
        self.offered, self.drills = drills, {row.drill.code: row.drill for row in drills}
        areas = dict(Area.choices)
        self.fault_names = distinct({code: f"{areas[row.skill.area]}: {row}" for code, row in self.faults.items()})
        self.drill_names = distinct({code: str(drill) for code, drill in self.drills.items()})

    def drills_for(self, fault: Fault | None) -> list[Drill]:
        """The drills that fit a fault, the best first."""
        return fitting_drills(fault, self.offered) if fault else []

    @classmethod
    def read(
        cls,
        coach: Coach | None = None,
        students: Iterable[Student] = (),
        lesson: Lesson | None = None,
        given: Collection[int] = (),
    ) -> "CatalogueChoices":
        """What is offered to a coach, in two queries; and what the students work on, the lesson showed, and was given.

        `given` are the ids of drills.
        """
        return cls(read_skills(coach, students, lesson), read_offered(coach, given))
