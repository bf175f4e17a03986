"""A description of a drawing as SVG."""

from collections.abc import Mapping
from typing import Any
from xml.etree import ElementTree as ET

from drills.library.drawing.canvas import Canvas, path
from drills.library.drawing.checks import check
from drills.library.drawing.pieces import LAYERS, TOP, VIEWS, piece_from
from drills.library.drawing.symbols import SYMBOLS, label_length, label_text
from lessons.wording import render


class Svg(str):
    """A picture as text that a template writes as it is: every word in it was escaped when it was made."""

    __slots__ = ()

    def __html__(self) -> "Svg":
        return self


def draw(description: Any, side: str | None, units: str) -> Svg:
    """The drawing for a player of a side, its lengths in metres ("m") or feet ("ft"); nothing if it has a problem.

    Without a side it is drawn for the right one, with lead and trail in its words.
    Raises KeyError for a side that is neither left nor right.
    """
    if check(description):
        return Svg("")
    canvas = Canvas(description["frame"], description["view"], side)
    describe(canvas, description, side)
    draw_ground(canvas)
    pieces = sorted(map(piece_from, description["pieces"]), key=lambda piece: LAYERS[piece.name])
    for piece in pieces:
        if piece.name in SYMBOLS:
            SYMBOLS[piece.name](canvas, piece)
    for piece in pieces:
        if piece.name == "length":
            label_length(canvas, piece, units)
        elif piece.name == "text":
            label_text(canvas, piece, side)
    return Svg(ET.tostring(canvas.root, encoding="unicode"))


def rendered(description: Mapping[str, Any], side: str | None) -> dict[str, Any]:
    """A right description with its words rendered for a side, to be kept."""
    words = [
        {**piece, "words": render(piece["words"], side)} if "words" in piece else piece
        for piece in description["pieces"]
    ]
    return {**description, "words": render(description["words"], side), "pieces": words}


def describe(canvas: Canvas, description: Mapping[str, Any], side: str | None) -> None:
    """The words for those who do not see the drawing: what it shows, and from where it is seen."""
    ET.SubElement(canvas.root, "title").text = render(description["words"], side)
    ET.SubElement(canvas.root, "desc").text = f"Seen {VIEWS[description['view']]}."


def draw_ground(canvas: Canvas) -> None:
    """The ground of a view from the side, where the frame shows it."""
    if canvas.view != TOP and canvas.low <= 0 <= canvas.high:
        canvas.add("soft", "path", d=path([canvas.at((x, 0)) for x in (canvas.left, canvas.right)]))
