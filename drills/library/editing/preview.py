"""A drill as students of either side would read it, made of what stands in the forms, valid or not."""

from typing import Any, NamedTuple

from coachbook.accounts.models import Side
from drills.library.drawing import draw
from drills.library.drawing.draw import Svg
from drills.library.editing.editor import DrillEditor
from drills.library.editing.forms import LINES, TEXTS
from drills.library.editing.words import as_wording


class PreviewSide(NamedTuple):
    """What a player of one side reads and sees."""

    side: Side
    drawing: Svg


def preview_of(editor: DrillEditor, units: str) -> dict[str, Any]:
    """The wordings as they were typed, and the drawing for either side."""
    values = {name: editor.texts[name].value() for name in (*LINES, *TEXTS, "steps", "child_minutes")}
    typed = {name: as_wording(str(value or "")) for name, value in values.items()}
    return {
        "typed": typed,
        "steps": [line for line in typed["steps"].splitlines() if line.strip()],
        "preview_sides": [PreviewSide(side, draw(editor.description, side, units)) for side in Side],
    }
