"""Saving a drill, unless somebody else saved it meanwhile: then both versions are shown."""

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple, cast

from django import forms
from django.db import transaction

from drills.library.editing.drawing_forms import NUMBERS
from drills.library.editing.editor import DrillEditor
from drills.library.editing.fits import CHOICES, choice_of
from drills.library.editing.forms import DrillForm
from drills.library.editing.words import as_typed
from drills.models import Drill, Fit

FIELDS = [name for name in DrillForm.Meta.fields if name != "other_items"]


class Overtaken(Exception):
    """Somebody else saved the drill while it was edited here; holds the drill as it is stored."""

    def __init__(self, stored: Drill) -> None:
        super().__init__(stored.code)
        self.stored = stored


class Difference(NamedTuple):
    """One field that differs: as it is stored, and as it was typed."""

    label: str
    stored: str
    typed: str


@transaction.atomic
def save_drill(editor: DrillEditor, fits: Sequence[Fit], edition: str) -> bool:
    """Store a valid drill with what it mends; whether anything changed. Raises Overtaken if this edition is past."""
    drill = editor.drill
    drill.drawing = editor.description
    if drill.pk is None:
        add_drill(drill)
        editor.fits.save(drill, ())
        return True
    stored = Drill.objects.select_for_update().get(pk=drill.pk)
    if str(stored.edition) != edition:
        raise Overtaken(stored)
    names = [name for name in (*FIELDS, "drawing") if getattr(stored, name) != getattr(drill, name)]
    if not names and not editor.fits.changed_data:
        return False
    drill.edition = stored.edition + 1
    drill.save(update_fields=[*names, "edition"])
    editor.fits.save(drill, fits)
    return True


def add_drill(drill: Drill) -> None:
    """Store a new drill, the last of its area."""
    last = Drill.objects.filter(area=drill.area).order_by("position").last()
    drill.code, drill.position, drill.edition = Drill.code_for(drill.name), last.position + 1 if last else 0, 1
    drill.save()


def differences(editor: DrillEditor, stored: Drill) -> Iterator[Difference]:
    """What differs between a drill as it is stored and as it was typed here."""
    texts = editor.texts
    pairs = [
        (str(texts[name].label), in_words(texts, name, stored), in_words(texts, name, editor.drill)) for name in FIELDS
    ]
    fits = stored.fits.select_related("fault__skill")
    chosen = ((str(row), editor.fits.cleaned_data[row.code]) for row in editor.fits.faults)
    pairs.append(("Faults", fits_in_words((str(fit.fault), choice_of(fit)) for fit in fits), fits_in_words(chosen)))
    pairs.append(("Drawing", drawing_in_words(stored.drawing), drawing_in_words(editor.description)))
    return (Difference(*pair) for pair in pairs if pair[1] != pair[2])


def in_words(form: DrillForm, name: str, drill: Drill) -> str:
    """A field of a drill as a person reads it."""
    value, field = getattr(drill, name), form.fields[name]
    names: dict[Any, Any] = dict(cast(Any, field.choices)) if isinstance(field, forms.ChoiceField) else {}
    values = value if isinstance(value, list) else [value]
    return as_typed("\n".join(str(names.get(each, each)) for each in values))


def fits_in_words(rows: Any) -> str:
    """What was chosen for faults, a line each."""
    names = dict(CHOICES)
    return "\n".join(sorted(f"{fault}: {names[choice]}" for fault, choice in rows if choice))


def drawing_in_words(description: dict[str, Any]) -> str:
    """A description of a drawing, a line for each piece."""
    if not description:
        return ""
    frame = ", ".join(map(str, description["frame"]))
    return "\n".join([f"Frame: {frame}", as_typed(description["words"]), *map(piece_in_words, description["pieces"])])


def piece_in_words(piece: dict[str, Any]) -> str:
    """One piece of a drawing on a line."""
    numbers = ", ".join(f"{label} {piece[name]}" for name, label in NUMBERS.items() if name in piece)
    return " ".join(filter(None, (piece["piece"], numbers, as_typed(piece.get("words", "")))))
