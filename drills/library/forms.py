"""The form that searches the library."""

from collections.abc import Iterable
from itertools import groupby
from typing import Any

from django import forms
from django.utils.text import capfirst

from coachbook.accounts.models import Area, User
from coachbook.forms import set_choices
from drills.library.search import Search
from drills.models import Drill
from lessons.models import Fault

LONGEST = 100  # letters of a search
LONGEST_MINUTES = 120


class SearchForm(forms.Form):
    """Words and what a drill needs; students do not search by fault, nor among drills of one's own."""

    q = forms.CharField(
        label="Words",
        required=False,
        max_length=LONGEST,
        widget=forms.TextInput({"type": "search", "autocomplete": "off", "spellcheck": "false"}),
    )
    area = forms.ChoiceField(required=False, choices=[("", "any"), *Area.choices])
    fault = forms.ChoiceField(label="Mends", required=False)
    whose = forms.ChoiceField(label="Whose", required=False)
    place = forms.ChoiceField(
        required=False, choices=[("", "any"), *((value, capfirst(name)) for value, name in Drill.Place.choices)]
    )
    item = forms.ChoiceField(label="Uses", required=False)
    minutes = forms.IntegerField(
        label="Minutes at most",
        required=False,
        min_value=1,
        max_value=LONGEST_MINUTES,
        widget=forms.TextInput({"inputmode": "numeric", "autocomplete": "off"}),
        error_messages=dict.fromkeys(
            ("invalid", "min_value", "max_value"), f"Type a whole number from 1 to {LONGEST_MINUTES}."
        ),
    )
    child = forms.BooleanField(label="With a game for a child", required=False)

    def __init__(self, data: Any, *, user: User, faults: Iterable[Fault], items: Iterable[str]) -> None:
        super().__init__(data)
        self.faults = {fault.code: fault for fault in faults}
        set_choices(self, "fault", [("", "any fault"), *by_skill(self.faults.values())])
        set_choices(self, "item", [("", "anything"), *((item, item) for item in items)])
        set_choices(self, "whose", whose_choices(user))
        if not (user.is_coach or user.is_manager):
            del self.fields["fault"], self.fields["whose"]

    @property
    def search(self) -> Search:
        """What is looked for; a field with a problem does not matter."""
        found = self.cleaned_data if self.is_bound and self.is_valid() else getattr(self, "cleaned_data", {})
        fault = self.faults.get(found.get("fault", ""))
        return Search(
            words=found.get("q", ""),
            area=found.get("area", ""),
            fault=fault.pk if fault else None,
            item=found.get("item", ""),
            place=found.get("place", ""),
            minutes=found.get("minutes"),
            is_for_child=found.get("child", False),
        )

    @property
    def is_narrowed(self) -> bool:
        """Whether more is asked for than the words: then a page shows the fields that narrow it."""
        return any(name in self.data and self.data[name] for name in self.fields if name != "q")


def whose_choices(user: User) -> list[tuple[str, str]]:
    """Among whose drills somebody may search."""
    own = [("own", "My own")] if user.is_coach else []
    coaches = [("offered", "Offered by coaches"), ("coaches", "Coaches’ own")] if user.is_manager else []
    return [("", "All that are offered"), *own, *coaches, ("archived", "Archived")]


def in_order_of_skills(faults: Iterable[Fault]) -> list[Fault]:
    """The faults in the order of the catalogue, putting first."""
    areas = {area: place for place, area in enumerate(Area.values)}
    return sorted(
        faults, key=lambda row: (areas[row.skill.area], row.skill.position, row.skill_id, row.position, row.pk)
    )


def by_skill(faults: Iterable[Fault]) -> list[tuple[str, list[tuple[str, str]]]]:
    """The faults for a choice, in groups by skill."""
    groups = groupby(in_order_of_skills(faults), key=lambda row: f"{row.skill.get_area_display()}: {row.skill}")
    return [(name, [(row.code, str(row)) for row in group]) for name, group in groups]
