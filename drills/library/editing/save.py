"""Saving a drill, unless somebody else saved it meanwhile: then both versions are shown."""

from collections.abc import Iterator, Sequence
from typing import Any

from django.db import transaction

from drills.library.editing.drawing_forms import NUMBERS
from drills.library.editing.editor import DrillEditor
from drills.library.editing.fits import CHOICES, choice_of
from drills.library.editing.forms import DrillForm
from drills.library.editing.words import as_typed
from drills.library.rows.editions import Difference, add_row, save_changes
from drills.library.rows.editions import differences as form_differences
from drills.models import Drill, Fit

FIELDS = [name for name in DrillForm.Meta.fields if name != "other_items"]


@transaction.atomic
def save_drill(editor: DrillEditor, fits: Sequence[Fit], edition: str) -> bool:
    """Store a valid drill with what it mends; whether anything changed. Raises Overtaken if this edition is past."""
    drill = editor.drill
    drill.drawing = editor.description
    if drill.pk is None:
        add_row(drill)
        editor.fits.save(drill, ())
        return True
    names = save_changes(drill, edition, [*FIELDS, "drawing"], also=bool(editor.fits.changed_data))
    editor.fits.save(drill, fits)
    return bool(names)


def differences(editor: DrillEditor, stored: Drill) -> Iterator[Difference]:
    """What differs between a drill as it is stored and as it was typed here."""
    fits = list(stored.fits.select_related("fault__skill"))
    yield from form_differences(
        DrillEditor(None, stored, fits).texts, editor.texts, without=("other_items", "is_meant")
    )
    chosen = ((str(row), editor.fits.cleaned_data[row.code]) for row in editor.fits.faults)
    pairs = [
        ("Faults", fits_in_words((str(fit.fault), choice_of(fit)) for fit in fits), fits_in_words(chosen)),
        ("Drawing", drawing_in_words(stored.drawing), drawing_in_words(editor.description)),
    ]
    yield from (Difference(*pair) for pair in pairs if pair[1] != pair[2])


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
