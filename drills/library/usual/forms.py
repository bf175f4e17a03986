"""The form for the drill and dose that a coach usually gives for a fault."""

from collections.abc import Sequence
from typing import Any

from django import forms

from coachbook.accounts.models import Coach
from coachbook.forms import set_choices
from drills.library.editing.forms import LIMITS, limit_number
from drills.models import Drill, UsualDrill
from lessons.models import Fault

DOSE = ("amount", "unit", "per_week", "days")


class UsualForm(forms.Form):
    """A drill that is not wrong for the fault, and its dose; a dose left empty is the drill's own."""

    drill = forms.ChoiceField(
        error_messages=dict.fromkeys(("required", "invalid_choice"), "Choose a drill from the list.")
    )
    amount = forms.IntegerField(label="How much a session", required=False)
    unit = forms.ChoiceField(
        label="Counted in", required=False, choices=[("", "as the drill says"), *Drill.Unit.choices]
    )
    per_week = forms.IntegerField(label="Days a week", required=False)
    days = forms.IntegerField(label="For how many days", required=False)

    def __init__(
        self, data: Any = None, *, stored: UsualDrill | None, fitting: Sequence[Drill], others: Sequence[Drill]
    ) -> None:
        dose = {name: getattr(stored, name) for name in DOSE} if stored else {}
        super().__init__(data, initial={"drill": stored.drill.code if stored else "", **dose})
        self.stored, self.drills = stored, {drill.code: drill for drill in (*fitting, *others)}
        groups = (("Mend this fault", fitting), ("Other drills of this area", others))
        named = [(label, [(drill.code, str(drill)) for drill in drills]) for label, drills in groups if drills]
        set_choices(self, "drill", [("", "choose"), *named])
        for name, limit in (("amount", "dose_amount"), ("per_week", "dose_per_week"), ("days", "dose_days")):
            limit_number(self.fields[name], *LIMITS[limit])

    def clean(self) -> dict[str, Any]:
        """An amount and its unit go together."""
        typed: dict[str, Any] = super().clean() or self.cleaned_data
        if "amount" in typed and "unit" in typed and bool(typed["amount"]) != bool(typed["unit"]):
            missing = "unit" if typed["amount"] else "amount"
            self.add_error(missing, "Say both how much and what is counted, or neither.")
        return typed

    def save(self, coach: Coach, fault: Fault) -> UsualDrill:
        """Store it for this coach and fault."""
        row = self.stored or UsualDrill(coach=coach, fault=fault)
        row.drill = self.drills[self.cleaned_data["drill"]]
        for name in DOSE:
            setattr(row, name, self.cleaned_data[name] or getattr(row.drill, f"dose_{name}"))
        row.save()
        return row
