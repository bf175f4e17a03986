"""The forms of one drill together: its texts, the faults that it mends, and its drawing."""

from collections.abc import Iterator, Sequence

from django import forms
from django.forms import BoundField
from django.http import QueryDict

from drills.library.editing.drawing_forms import DrawingEditor
from drills.library.editing.fits import FitForm
from drills.library.editing.forms import LINES, TEXTS, DrillForm
from drills.library.editing.words import put_in_brackets
from drills.library.search import items_in
from drills.models import Drill, Fit

COPIED_FIELDS = (
    *("area", "kind", "schedule", "places", "items", "minutes", "drawing", "purpose", "equipment", "setup"),
    *("steps", "feel", "mark", "tip", "dose_amount", "dose_unit", "dose_per_week", "dose_days"),
    *("caution", "game", "child_minutes"),
)


class DrillEditor:
    """What a page needs of several forms as if they were one."""

    def __init__(self, data: QueryDict | None, drill: Drill, fits: Sequence[Fit]) -> None:
        self.drill, self.is_bound = drill, data is not None
        known = items_in(Drill.offered_to(drill.owner).only("items"))
        self.texts = DrillForm(data, instance=drill, known_items=known)
        self.fits = FitForm(data, drill=drill, stored=fits, area=drill.area)
        self.drawing = DrawingEditor(data, drill.drawing)
        self.description = self.drawing.clean() if self.is_bound else drill.drawing

    @property
    def forms(self) -> list[forms.BaseForm]:
        """All of them, in the order of the page."""
        return [self.texts, self.fits, *self.drawing.forms]

    def is_valid(self) -> bool:
        """Whether everything can be saved."""
        return self.is_bound and not self.errors

    @property
    def errors(self) -> bool:
        """Whether anything is to be put right."""
        return self.is_bound and (any(form.errors for form in self.forms) or self.drawing.has_problems)

    def non_field_errors(self) -> list[str]:
        """What is wrong with no field alone."""
        found = [message for form in self.forms for message in form.non_field_errors()]
        return [*map(str, found), *map(str, self.drawing.pieces.non_form_errors())]

    def visible_fields(self) -> Iterator[BoundField]:
        """All fields, for the summary of problems."""
        for form in self.forms:
            yield from form.visible_fields()

    @property
    def asks_about_sides(self) -> bool:
        """Whether a side stands without brackets somewhere: then the page offers to put it in."""
        return bool(self.texts.bare)


def copy_of(drill: Drill) -> Drill:
    """A drill that is not stored yet, with the values of another, but for its name."""
    return Drill(**{name: getattr(drill, name) for name in COPIED_FIELDS})


def with_brackets(data: QueryDict) -> QueryDict:
    """What was typed, with every lead and trail in brackets."""
    changed = data.copy()
    for name in changed:
        if name in (*LINES, *TEXTS, "steps", "drawing-words") or name.endswith("-words"):
            changed[name] = put_in_brackets(str(changed[name]))
    return changed
