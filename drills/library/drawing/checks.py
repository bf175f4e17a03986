"""What is wrong with the description of a drawing, said beside each field."""

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from drills.library.drawing.figure import figure_of
from drills.library.drawing.pieces import KINDS, VIEWS, Piece, piece_from
from lessons.wording import READERS, render

FEWEST, MOST = 2, 25  # pieces
LONGEST_LABEL, LONGEST_WORDS = 24, 400  # letters
FURTHEST = 5000  # cm from the origin
SMALLEST, LARGEST = 20, 3000  # cm: the width and the height of a frame
STEEPEST = 180  # degrees
LIMITS = {"turn": (-STEEPEST, STEEPEST), "size": (1, 200), "knee": (-30, 30), "bend": (-500, 500), "lean": (-60, 60)}
KEYS = ("view", "frame", "words", "pieces")


class Problem(NamedTuple):
    """What is wrong with one field: of the piece with this index, or of the drawing itself."""

    piece: int | None
    field: str
    message: str


def check(description: Any) -> list[Problem]:
    """Everything that is wrong with a description; an empty list for one that can be drawn. Never raises."""
    if not isinstance(description, dict):
        return [Problem(None, "pieces", "Describe the drawing: its view, its frame, words and pieces.")]
    problems = [Problem(None, field, message) for field, message in drawing_problems(description)]
    pieces = description.get("pieces")
    if not isinstance(pieces, list):
        return problems
    view, frame = description.get("view"), description.get("frame")
    bounds = None if list(frame_problems(frame)) else frame
    for index, piece in enumerate(pieces[:MOST]):
        problems += [Problem(index, field, message) for field, message in piece_problems(piece, view, bounds)]
    return problems


def drawing_problems(description: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """What is wrong with the drawing itself."""
    if not is_one_of(description.get("view"), VIEWS):
        yield "view", f"Choose how the drawing is seen: {', '.join(VIEWS.values())}."
    yield from (("frame", message) for message in frame_problems(description.get("frame")))
    yield from (("words", message) for message in word_problems(description.get("words"), LONGEST_WORDS))
    yield from count_problems(description.get("pieces"))
    yield from ((str(key), "A drawing has no such field.") for key in description if key not in KEYS)


def count_problems(pieces: Any) -> Iterator[tuple[str, str]]:
    """What is wrong with the number of pieces."""
    if not isinstance(pieces, list) or len(pieces) < FEWEST:
        yield "pieces", f"A drawing needs at least {FEWEST} pieces."
    elif len(pieces) > MOST:
        yield "pieces", f"A drawing has at most {MOST} pieces; this one has {len(pieces)}."


def frame_problems(frame: Any) -> Iterator[str]:
    """What is wrong with a frame."""
    if not isinstance(frame, list) or len(frame) != 4 or not all(map(is_number, frame)):
        yield f"The frame is four numbers in cm, from x, from y, to x, to y, each between -{FURTHEST} and {FURTHEST}."
        return
    for size, what in ((frame[2] - frame[0], "wide"), (frame[3] - frame[1], "high")):
        if not SMALLEST <= size <= LARGEST:
            yield f"The frame is {size:g} cm {what}: choose between {SMALLEST} and {LARGEST} cm."


def word_problems(words: Any, longest: int) -> Iterator[str]:
    """What is wrong with a wording."""
    if not isinstance(words, str) or not words.strip():
        yield "Write the words."
    elif not words.isprintable():
        yield "Write the words on one line."
    else:
        yield from rendered_problems(words, longest)


def rendered_problems(words: str, longest: int) -> Iterator[str]:
    """What is wrong with a wording once it is rendered for each reader."""
    try:
        letters = max(len(render(words, side)) for side in READERS)
    except KeyError as unknown:
        yield f"There is no marker {{{unknown.args[0]}}}."
        return
    if letters > longest:
        yield f"At most {longest} letters; these are {letters}."


def piece_problems(piece: Any, view: Any, frame: list[float] | None) -> Iterator[tuple[str, str]]:
    """What is wrong with a piece."""
    name = piece.get("piece") if isinstance(piece, dict) else None
    if not is_one_of(name, KINDS):
        yield "piece", f"Choose a piece: {', '.join(KINDS)}."
        return
    problems = list(field_problems(piece, view))
    if frame and not problems and is_one_of(view, VIEWS):
        shown = piece_from(piece)
        problems = list(outside(shown, frame)) or list(larger_than_frame(shown, view, frame))
    yield from problems


def field_problems(piece: Mapping[str, Any], view: Any) -> Iterator[tuple[str, str]]:
    """What is wrong with the fields of a piece, each by itself."""
    kind = KINDS[piece["piece"]]
    if is_one_of(view, VIEWS) and view not in kind.views:
        yield "piece", f"This piece is seen {' or '.join(VIEWS[each] for each in kind.views)} only."
    for name in (*kind.needs, *(name for name in kind.may_have if name in piece)):
        yield from ((name, message) for message in number_problems(name, piece.get(name)))
    if kind.has_words:
        yield from (("words", message) for message in word_problems(piece.get("words"), LONGEST_LABEL))
    known = {"piece", *kind.needs, *kind.may_have, *(["words"] if kind.has_words else [])}
    yield from ((str(name), f"A {kind.label} has no such field.") for name in piece if name not in known)


def number_problems(name: str, value: Any) -> Iterator[str]:
    """What is wrong with a number."""
    least, most = LIMITS.get(name, (-FURTHEST, FURTHEST))
    if not is_number(value):
        yield "Write a number."
    elif not least <= value <= most:
        yield f"Write a number between {least} and {most}."


def outside(piece: Piece, frame: list[float]) -> Iterator[tuple[str, str]]:
    """The fields by which a piece leaves the frame, and one of two points that are the same."""
    left, low, right, high = frame
    across, up = f"{left:g} to {right:g}", f"{low:g} to {high:g}"
    for name, value in piece.numbers.items():
        if name in ("x", "to_x", "hands_x", "club_x", "head_x") and not left <= value <= right:
            yield name, f"This is outside the frame, which goes from {across} cm."
        if name in ("y", "to_y", "hands_y", "club_y") and not low <= value <= high:
            yield name, f"This is outside the frame, which goes from {up} cm."
    if "to_x" in piece.numbers and piece.start == piece.end:
        yield "to_x", "This ends where it begins."


def larger_than_frame(piece: Piece, view: str, frame: list[float]) -> Iterator[tuple[str, str]]:
    """The sizes by which feet or a player leave the frame."""
    left, low, right, high = frame
    if (
        piece.name == "feet"
        and not left <= piece.start[0] - piece.number("size") / 2 <= piece.start[0] + piece.number("size") / 2 <= right
    ):
        yield "size", "One foot is outside the frame."
    if piece.name == "player":
        points = figure_of(piece, view).points
        if not all(left <= x <= right for x, _ in points):
            yield "x", f"Part of the player is outside the frame, which goes from {left:g} to {right:g} cm."
        if not all(low <= y <= high for _, y in points):
            top = max(y for _, y in points)
            yield "x", f"The player reaches from 0 to {top:.0f} cm up: make the frame as high."


def is_number(value: Any) -> bool:
    """Whether this is a number that a drawing can have."""
    return isinstance(value, int | float) and not isinstance(value, bool) and -FURTHEST <= value <= FURTHEST


def is_one_of(value: Any, names: Mapping[str, Any]) -> bool:
    """Whether this is one of the names; a list or a dict is none."""
    return isinstance(value, str) and value in names
