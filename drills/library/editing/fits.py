"""The part of the form that says which faults a drill mends, and for which it is wrong."""

from collections.abc import Iterable, Iterator
from itertools import groupby
from typing import Any, NamedTuple

from django import forms
from django.forms import BoundField

from drills.models import Drill, Fit
from lessons.models import Fault, Skill

MENDS, FIRST, WRONG = "mends", "first", "wrong"
CHOICES = [
    ("", "neither"), (MENDS, "mends it"), (FIRST, "mends it, and comes first"), (WRONG, "is wrong for it")
]  # fmt: skip


class SkillFits(NamedTuple):
    """The fields for the faults of one skill, folded away where nothing is chosen."""

    skill: Skill
    is_open: bool
    fields: list[BoundField]


class PhaseFits(NamedTuple):
    """The fields of one phase."""

    label: str
    skills: list[SkillFits]


class FitForm(forms.Form):
    """A choice for each fault of the drill's area. Faults that are no longer offered keep what was chosen."""

    def __init__(self, data: Any = None, *, drill: Drill, stored: Iterable[Fit], area: str) -> None:
        super().__init__(data, prefix="fit", initial={fit.fault.code: choice_of(fit) for fit in stored})
        rows = Fault.offered_to(drill.owner).filter(skill__area=area, skill__archived=False).select_related("skill")
        order = list(Skill.Phase.values)
        self.faults = sorted(
            rows, key=lambda row: (order.index(row.skill.phase), row.skill.position, row.skill_id, row.position)
        )
        for fault in self.faults:
            self.fields[fault.code] = forms.ChoiceField(label=str(fault), choices=CHOICES, required=False)

    @property
    def phases(self) -> Iterator[PhaseFits]:
        """The fields in the order of a lesson."""
        for label, faults in groupby(self.faults, key=lambda row: row.skill.get_phase_display()):
            by_skill = groupby(faults, key=lambda row: row.skill)
            skills = [(skill, [self[row.code] for row in rows]) for skill, rows in by_skill]
            yield PhaseFits(
                label, [SkillFits(skill, any(each.value() for each in fields), fields) for skill, fields in skills]
            )

    def save(self, drill: Drill, stored: Iterable[Fit]) -> None:
        """Store what was changed, row by row with its history."""
        by_code = {fit.fault.code: fit for fit in stored}
        for fault in self.faults:
            choice, fit = self.cleaned_data[fault.code], by_code.get(fault.code)
            if fit and not choice:
                fit.delete()
            elif choice and choice != (choice_of(fit) if fit else ""):
                fit = fit or Fit(drill=drill, fault=fault)
                fit.is_first, fit.is_wrong = choice == FIRST, choice == WRONG
                fit.save()


def choice_of(fit: Fit) -> str:
    """What was chosen for a fault."""
    return WRONG if fit.is_wrong else FIRST if fit.is_first else MENDS
