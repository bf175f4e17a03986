"""The part of the form that describes the drawing: how it is seen, and a row for each piece."""

import re
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any, NamedTuple, cast

from django import forms
from django.core.exceptions import ValidationError
from django.forms import BoundField

from drills.library.drawing import check
from drills.library.drawing.checks import LONGEST_LABEL, LONGEST_WORDS, MOST
from drills.library.drawing.pieces import KINDS, VIEWS
from drills.library.editing.words import LineField

FRAME = ("left", "bottom", "right", "top")
NUMBERS = {
    "x": "x", "y": "y", "to_x": "to x", "to_y": "to y", "size": "size", "turn": "angle", "bend": "bend",
    "lean": "lean", "hands_x": "hands x", "hands_y": "hands y", "club_x": "club x", "club_y": "club y",
    "knee": "knee", "head_x": "head x",
}  # fmt: skip
SPARE_ROWS = 3
NUMBER = re.compile(r"-?[0-9]{1,6}(\.[0-9]{1,4})?")


class NumberField(forms.Field):
    """A number in cm, that keeps whatever was typed."""

    widget = forms.TextInput

    def __init__(self, short: str, label: str) -> None:
        super().__init__(required=False, label=label)
        self.short = short

    def to_python(self, value: Any) -> float | int | None:
        """A whole number where it is one, as a file would hold it."""
        typed = str(value if value is not None else "").strip().replace(",", ".")
        if not typed:
            return None
        if not NUMBER.fullmatch(typed):
            raise ValidationError("Write a number.")
        number = float(typed)
        return int(number) if number.is_integer() else number

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        """A phone's keys for numbers often have no minus, so they are not asked for."""
        return {"autocomplete": "off"}


class DrawingForm(forms.Form):
    """How the drawing is seen, its frame, and its words for those who do not see it."""

    view = forms.ChoiceField(label="Seen", required=False, choices=[("", "no drawing"), *VIEWS.items()])
    left, bottom = NumberField("from x", "Frame from x"), NumberField("from y", "Frame from y")
    right, top = NumberField("to x", "Frame to x"), NumberField("to y", "Frame to y")
    words = LineField(
        label="The drawing in words",
        required=False,
        max_length=LONGEST_WORDS,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="For those who do not see it.",
    )

    @property
    def frame(self) -> list[BoundField]:
        """The four fields of the frame."""
        return [self[name] for name in FRAME]

    @property
    def frame_problems(self) -> list[tuple[BoundField, str]]:
        """What is wrong with the frame, each with its field."""
        return [(field, str(message)) for field in self.frame for message in field.errors]


class Cell(NamedTuple):
    """A field of a piece, its short name, and the pieces that have it."""

    name: str
    field: BoundField
    pieces: str


class PieceForm(forms.Form):
    """One piece of the drawing."""

    piece = forms.ChoiceField(
        required=False, choices=[("", "–"), *((name, kind.label) for name, kind in KINDS.items())]
    )
    words = LineField(required=False, max_length=LONGEST_LABEL)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields |= {name: NumberField(label, label) for name, label in NUMBERS.items()}

    def add_number(self, number: int) -> None:
        """Say which row it is in the labels of the summary of problems."""
        for name, field in self.fields.items():
            field.label = f"Piece {number}, {NUMBERS.get(name, 'leave out' if name == 'DELETE' else name)}"

    @property
    def cells(self) -> Iterator[Cell]:
        """The fields that any piece may have, in the order of a row."""
        for name, label in {**NUMBERS, "words": "words"}.items():
            yield Cell(label, self[name], " ".join(piece for piece, kind in KINDS.items() if has_field(kind, name)))

    @property
    def usual_cells(self) -> list[Cell]:
        """Those that most pieces have."""
        return [cell for cell in self.cells if cell.field.name in ("x", "y", "to_x", "to_y", "words")]

    @property
    def other_cells(self) -> list[Cell]:
        """Those that few pieces have."""
        return [cell for cell in self.cells if cell.field.name not in ("x", "y", "to_x", "to_y", "words")]

    @property
    def has_others(self) -> bool:
        """Whether something stands in a field that few pieces have."""
        return any(cell.field.value() not in (None, "") for cell in self.other_cells)

    @property
    def problems(self) -> list[tuple[BoundField, str]]:
        """Everything that is wrong with the row, each with its field."""
        return [(field, str(message)) for field in self for message in field.errors]

    @property
    def description(self) -> dict[str, Any] | None:
        """The piece as a drawing describes it; None for a row that is empty or left out."""
        if not self.is_valid() and not self.has_changed():
            return None
        typed = {
            name: value for name, value in self.cleaned_data.items() if value not in (None, "") and name != "DELETE"
        }
        return None if self.cleaned_data.get("DELETE") or not typed else in_order(typed)


def has_field(kind: Any, name: str) -> bool:
    """Whether a kind of piece has a field."""
    return kind.has_words if name == "words" else name in (*kind.needs, *kind.may_have)


def in_order(typed: Mapping[str, Any]) -> dict[str, Any]:
    """The fields of a piece in the order of a row."""
    return {name: typed[name] for name in ("piece", *NUMBERS, "words") if name in typed}


if TYPE_CHECKING:  # Django's sets of forms take no type at run time
    BasePieceFormSet = forms.BaseFormSet[PieceForm]
else:
    BasePieceFormSet = forms.BaseFormSet


class PieceFormSet(BasePieceFormSet):
    """The rows of pieces."""

    def add_fields(self, form: PieceForm, index: int | None) -> None:
        """Each row knows its number."""
        super().add_fields(form, index)
        form.add_number(index + 1 if index is not None else 0)


PIECES = cast(
    "type[PieceFormSet]",
    forms.formset_factory(
        PieceForm, formset=PieceFormSet, extra=SPARE_ROWS, max_num=MOST, absolute_max=MOST + 5, can_delete=True
    ),
)


class DrawingEditor:
    """The drawing as forms, and the description that they make."""

    def __init__(self, data: Any, stored: Mapping[str, Any]) -> None:
        frame = dict(zip(FRAME, stored.get("frame", ()), strict=False))
        initial = {"view": stored.get("view", ""), "words": stored.get("words", ""), **frame}
        self.form = DrawingForm(data, prefix="drawing", initial=initial)
        self.pieces = PIECES(data, prefix="pieces", initial=stored.get("pieces", []))

    @property
    def forms(self) -> list[forms.Form]:
        """All of them."""
        return [self.form, *self.pieces.forms]

    def clean(self) -> dict[str, Any]:
        """The description, with every problem of it added to the field that it is about; empty without a drawing."""
        rows = [(form, piece) for form in self.pieces.forms if (piece := form.description) is not None]
        typed = self.form.cleaned_data if self.form.is_valid() or self.form.is_bound else {}
        frame = [typed.get(name) for name in FRAME]
        if not rows and not typed.get("view") and not typed.get("words") and frame == [None] * 4:
            return {}
        description = {
            "view": typed.get("view"),
            "frame": frame,
            "words": typed.get("words"),
            "pieces": [piece for _, piece in rows],
        }
        for problem in check(description):
            form = self.form if problem.piece is None else rows[problem.piece][0]
            add_problem(form, {"frame": "left", "pieces": "view"}.get(problem.field, problem.field), problem.message)
        return description

    @property
    def has_problems(self) -> bool:
        """Whether anything is wrong with it."""
        return any(form.errors for form in self.forms) or bool(self.pieces.non_form_errors())


def add_problem(form: forms.Form, name: str, message: str) -> None:
    """A problem beside its field, unless the field has one already."""
    if name in form.fields and name not in form.errors:
        form.add_error(name, message)
