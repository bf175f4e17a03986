"""The form for the texts of a drill."""

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.utils.text import capfirst

from drills.library.editing.words import LineField, StepsField, WordingField, bare_words, question_about
from drills.library.rows.places import name_is_taken
from drills.models import Drill

if TYPE_CHECKING:  # Django's forms take no type at run time
    DrillModelForm = forms.ModelForm[Drill]
else:
    DrillModelForm = forms.ModelForm

LINES = ("name", "equipment")
TEXTS = ("purpose", "setup", "feel", "mark", "tip", "caution", "game")
LIMITS = {
    "minutes": (1, 120), "dose_amount": (1, 200), "dose_per_week": (1, 7), "dose_days": (1, 365),
    "child_minutes": (0, 60),
}  # fmt: skip
# Items that are offered beside those that are in use; others can be typed.
COMMON_ITEMS = ("chalk", "coin", "cups", "rod", "string", "tape", "tees", "towel")
LONGEST_ITEM, MOST_ITEMS = 30, 12


class OtherItemsField(forms.CharField):
    """Items with commas between them."""

    def clean(self, value: Any) -> list[str]:
        """Each item once, in small letters."""
        items = dict.fromkeys(" ".join(part.lower().split()) for part in super().clean(value).split(","))
        if long := [item for item in items if len(item) > LONGEST_ITEM]:
            raise ValidationError(f"“{long[0]}” is too long: {LONGEST_ITEM} letters at most.")
        return [item for item in items if item]


class DrillForm(DrillModelForm):
    """The texts of one drill, with its dose and what it needs. The area is given and stays."""

    steps = StepsField(
        help_text="One on each line, at least one. Say what to do, as to a student of twelve.",
        error_messages={"required": "Write at least one step."},
    )
    places = forms.MultipleChoiceField(
        label="Where it can be done",
        choices=[(value, capfirst(name)) for value, name in Drill.Place.choices],
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one place."},
    )
    items = forms.MultipleChoiceField(
        label="Needed besides a club and balls", required=False, widget=forms.CheckboxSelectMultiple
    )
    other_items = OtherItemsField(
        label="Other things it needs", required=False, max_length=200, help_text="With a comma between them."
    )
    is_meant = forms.BooleanField(
        label="Lead, trail, left and right are meant as they stand in these texts", required=False
    )

    class Meta:
        model = Drill
        fields = [
            *("name", "purpose", "equipment", "setup", "steps", "feel", "mark", "tip", "caution"),
            *("game", "child_minutes", "kind", "schedule", "places", "items", "other_items", "minutes"),
            *("dose_amount", "dose_unit", "dose_per_week", "dose_days"),
        ]
        field_classes = dict.fromkeys(LINES, LineField) | dict.fromkeys(TEXTS, WordingField)
        widgets = {name: forms.Textarea(attrs={"rows": 2}) for name in TEXTS}
        labels = {
            "equipment": "You need", "setup": "Set up", "mark": "What counts as done well", "caution": "Take care",
            "purpose": "What gets better", "kind": "How it works", "minutes": "Minutes that one go takes",
            "dose_amount": "How much a session", "dose_unit": "Counted in", "dose_per_week": "Days a week",
            "dose_days": "For how many days", "game": "As a game for a child",
            "child_minutes": "Minutes for a child",
        }  # fmt: skip
        help_texts = {
            "mark": "Something that can be counted, and missed.",
            "tip": "What to do instead of a common error.",
            "game": "Leave empty if a child cannot play it.",
        }

    def __init__(self, data: Any = None, *, instance: Drill, known_items: Iterable[str]) -> None:
        super().__init__(data, instance=instance)
        self.bare: list[tuple[str, str]] = []  # fields in which a side stands without brackets, each with its word
        items = sorted({*COMMON_ITEMS, *known_items, *instance.items})
        field = self.fields["items"]
        assert isinstance(field, forms.MultipleChoiceField)
        field.choices = [(item, capfirst(item)) for item in items]
        for name, (least, most) in LIMITS.items():
            limit_number(self.fields[name], least, most)
        self.fields["child_minutes"].required = False

    # --- Validation -----------------------------------------------------------------------------

    def _get_validation_exclusions(self) -> set[str]:
        """Numbers are checked by their fields: to check the constraints as well would ask the database for each."""
        return {*cast(Any, super())._get_validation_exclusions(), *LIMITS}

    def clean_name(self) -> str:
        """A name that no other drill has that is offered to the same people in this area."""
        name: str = self.cleaned_data["name"]
        if name_is_taken(self.instance, name):
            raise ValidationError("There is already a drill with this name. Choose another.")
        return name

    def clean_child_minutes(self) -> int:
        """None at all if left empty."""
        return self.cleaned_data["child_minutes"] or 0

    def clean(self) -> dict[str, Any]:
        """Join the items, ask for minutes for a child's game, and ask about sides that stand without brackets."""
        typed: dict[str, Any] = super().clean() or self.cleaned_data
        typed["items"] = list(dict.fromkeys([*typed.get("items", []), *typed.get("other_items", [])]))
        if len(typed["items"]) > MOST_ITEMS:
            self.add_error("items", f"{len(typed['items'])} things are too many: {MOST_ITEMS} at most.")
        if typed.get("game") and typed.get("child_minutes") == 0:
            self.add_error("child_minutes", "Say how many minutes a child plays it.")
        self.bare = list(self.bare_texts())
        if not typed.get("is_meant"):
            for name, word in self.bare:
                self.add_error(name, question_about(word))
        return typed

    def bare_texts(self) -> Iterator[tuple[str, str]]:
        """The changed texts in which a word of a side stands without brackets, each with that word."""
        for name in (*LINES, *TEXTS, "steps"):
            value = self.cleaned_data.get(name) if name in self.changed_data else None
            stored = " ".join(as_texts(self.initial.get(name)))
            new = [word for text in as_texts(value) for word in bare_words(text) if word not in bare_words(stored)]
            if new:
                yield name, new[0]


def limit_number(field: forms.Field, least: int, most: int) -> None:
    """A field for a whole number, that keeps whatever was typed."""
    assert isinstance(field, forms.IntegerField)
    field.min_value, field.max_value = least, most
    field.widget = forms.TextInput({"inputmode": "numeric", "autocomplete": "off"})
    message = f"Type a whole number from {least} to {most}."
    field.error_messages |= dict.fromkeys(("invalid", "min_value", "max_value", "required"), message)
    field.validators = [*field.validators, *forms.IntegerField(min_value=least, max_value=most).validators]


def as_texts(value: Any) -> list[str]:
    """A text, or the texts of a list."""
    return value if isinstance(value, list) else [value or ""]
