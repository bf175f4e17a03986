"""Where a label stands: at its place if there is room, or else as near as nothing is hidden."""

from collections.abc import Iterable, Iterator
from math import hypot

from drills.library.drawing.canvas import LETTER, TEXT, WIDTH, Box, Canvas, Point, between, box_around

HALF_HIGH = 0.6 * TEXT
MARGIN = 3.0  # round the picture
GAP = 6.0  # between a measure line and its label
AWAY = 0.15  # what a unit further away costs, in units of area hidden
AROUND = ((0, -1), (0, 1), (-1, 0), (1, 0), (-1, -1), (1, -1), (-1, 1), (1, 1))


def put_label(canvas: Canvas, words: str, wished: Iterable[Point]) -> None:
    """A label at the first of the wished places where it hides nothing, or else where it hides least."""
    half = len(words) * LETTER / 2
    box = best_of(canvas, (kept_inside(canvas, box_around(place, half, HALF_HIGH)) for place in wished))
    canvas.take(box)
    canvas.add("behind", "rect", x=box.left, y=box.top, width=2 * half, height=2 * HALF_HIGH, rx=2)
    canvas.add("label", "text", x=(box.left + box.right) / 2, y=box.bottom - 0.25 * TEXT).text = words


def best_of(canvas: Canvas, boxes: Iterable[Box]) -> Box:
    """The first rectangle that hides nothing, or the one that hides least and is not far from the first."""
    tried: list[tuple[float, Box]] = []
    for box in boxes:
        hidden = sum(box.overlap(taken) for taken in canvas.taken)
        if not hidden:
            return box
        first = tried[0][1] if tried else box
        tried.append((hidden + AWAY * hypot(box.left - first.left, box.top - first.top), box))
    return min(tried)[1]


def kept_inside(canvas: Canvas, box: Box) -> Box:
    """The rectangle moved into the picture."""
    right = max(0.0, MARGIN - box.left) - max(0.0, box.right - WIDTH + MARGIN)
    down = max(0.0, MARGIN - box.top) - max(0.0, box.bottom - canvas.height + MARGIN)
    return Box(box.left + right, box.top + down, box.right + right, box.bottom + down)


def places_for_text(at: Point, words: str) -> Iterator[Point]:
    """The place of a text itself, then places round it, ever further away."""
    yield at
    for ring in range(1, 6):
        for right, down in AROUND:
            yield at[0] + right * (6 * ring + len(words) * LETTER / 2), at[1] + down * (8 * ring + 4)
            yield at[0] + right * 7 * ring, at[1] + down * 9 * ring


def places_for_length(start: Point, end: Point, words: str) -> Iterator[Point]:
    """Places on both sides of a measure line: above its middle first, then below, along it and further away."""
    long = hypot(end[0] - start[0], end[1] - start[1]) or 1.0
    up = -1 if end[0] >= start[0] else 1
    across, down = up * (start[1] - end[1]) / long, up * (end[0] - start[0]) / long
    half = len(words) * LETTER / 2
    for further in (0, 8, 16, 26):
        away = abs(across) * (half + GAP) + abs(down) * (HALF_HIGH + GAP) + further
        for share in (0.5, 0.3, 0.7, 0.0, 1.0):
            for side in (1, -1):
                x, y = between(start, end, share)
                yield x + side * away * across, y + side * away * down
