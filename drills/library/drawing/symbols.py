"""How each piece is drawn, never smaller than one can see."""

from collections.abc import Callable, Mapping
from math import cos, hypot, radians, sin

from drills.library.drawing.canvas import Box, Canvas, Point, between, box_around, number, path
from drills.library.drawing.figure import HEAD, figure_of
from drills.library.drawing.labels import places_for_length, places_for_text, put_label
from drills.library.drawing.lengths import length_label
from drills.library.drawing.pieces import TOP, Piece
from lessons.wording import render

# Sizes in cm. Ball and hole: Rules of Golf 2023, Equipment Rules 4 and Definition "hole"; the others are usual ones.
BALL, HOLE = 4.27 / 2, 10.8 / 2
COIN, CUP, TEE = 1.2, 4.0, 0.5
CLUB_LONG, CLUB_DEEP = 11.0, 3.0
SHOE_LONG, SHOE_WIDE = 29.0, 11.0
ONE_SHOE = 5.0  # nearer together than this, two feet are drawn as one
HEAD_LONG, HEAD_WIDE = 7.0, 3.6  # of an arrow, in units of the picture
ON_THE_GROUND = 3.0  # a ball whose middle is no higher lies on the ground
ARC = 0.28  # how high a ball flies in a view from the side, of how far


def draw_ball(canvas: Canvas, piece: Piece) -> None:
    """A white circle; from the side it lies on the ground."""
    radius = canvas.size(BALL, 4.5)
    x, y = canvas.at(piece.start)
    if canvas.view != TOP and 0 <= piece.start[1] <= ON_THE_GROUND:
        y = canvas.at((0, 0))[1] - radius
    canvas.add("shape", "circle", cx=x, cy=y, r=radius)
    canvas.take(box_around((x, y), radius + 1))


def draw_hole(canvas: Canvas, piece: Piece) -> None:
    """A dark disc; from the side an opening in the ground."""
    radius, (x, y) = canvas.size(HOLE, 7), canvas.at(piece.start)
    if canvas.view == TOP:
        canvas.add("solid", "circle", cx=x, cy=y, r=radius)
        canvas.take(box_around((x, y), radius + 1))
    else:
        canvas.add("solid", "rect", x=x - radius, y=y, width=2 * radius, height=8)
        canvas.take(Box(x - radius, y, x + radius, y + 8))


def draw_flag(canvas: Canvas, piece: Piece) -> None:
    """A small flag on its stick; its foot is the place."""
    x, y = canvas.at(piece.start)
    high = min(30.0, y - 2)
    canvas.add("ink", "path", d=path([(x, y), (x, y - high)]))
    canvas.add("accent", "path", d=f"{path([(x, y - high), (x + 13, y - high + 5), (x, y - high + 10)])}Z")
    canvas.take(Box(x - 2, y - high, x + 13, y))


def draw_tee(canvas: Canvas, piece: Piece) -> None:
    """A dark dot; from the side a peg."""
    radius, (x, y) = canvas.size(TEE, 3.2), canvas.at(piece.start)
    if canvas.view == TOP:
        canvas.add("accent", "circle", cx=x, cy=y, r=radius)
        canvas.take(box_around((x, y), radius + 1))
    else:
        canvas.add("accent", "path", d=f"{path([(x - 4, y - 9), (x + 4, y - 9), (x, y)])}Z")
        canvas.take(Box(x - 5, y - 10, x + 5, y + 1))


def draw_coin(canvas: Canvas, piece: Piece) -> None:
    """A disc with a rim; from the side a flat line."""
    x, y = canvas.at(piece.start)
    if canvas.view == TOP:
        radius = canvas.size(COIN, 3)
        canvas.add("zone", "circle", cx=x, cy=y, r=radius)
        canvas.take(box_around((x, y), radius + 1))
    else:
        canvas.add("way", "path", d=path([(x - 5, y), (x + 5, y)]))
        canvas.take(box_around((x, y), 6, 2))


def draw_cup(canvas: Canvas, piece: Piece) -> None:
    """A small square with a ring in it; from the side it stands on its place."""
    half, (x, y) = canvas.size(CUP, 5), canvas.at(piece.start)
    y = y if canvas.view == TOP else y - half
    canvas.add("shape", "rect", x=x - half, y=y - half, width=2 * half, height=2 * half, rx=half / 4)
    if canvas.view == TOP:
        canvas.add("ink", "circle", cx=x, cy=y, r=half / 2)
    canvas.take(box_around((x, y), half + 1))


def draw_spot(canvas: Canvas, piece: Piece) -> None:
    """A small cross."""
    x, y = canvas.at(piece.start)
    for down in (-1, 1):
        canvas.add("way", "path", d=path([(x - 5, y - 5 * down), (x + 5, y + 5 * down)]))
    canvas.take(box_around((x, y), 6))


def draw_feet(canvas: Canvas, piece: Piece) -> None:
    """Both shoes from above, or one if they are hardly apart, the toes away from the player or turned to the target."""
    x, y = piece.start
    long, wide = canvas.size(SHOE_LONG, 20), canvas.size(SHOE_WIDE, 8)
    angle = canvas.turned((0, 1), -piece.number("turn"))
    for side in (-1, 1) if piece.number("size") > ONE_SHOE else (0,):
        place = canvas.at((x + side * piece.number("size") / 2, y))
        canvas.add(
            "shape", "ellipse", cx=place[0], cy=place[1], rx=long / 2, ry=wide / 2, transform=rotation(angle, place)
        )
        toe = (place[0] + long / 3.2 * cos(radians(angle)), place[1] + long / 3.2 * sin(radians(angle)))
        canvas.add("solid", "circle", cx=toe[0], cy=toe[1], r=wide / 6)
        canvas.take(box_around(place, wide / 2, long / 2))


def draw_club(canvas: Canvas, piece: Piece) -> None:
    """The head of a club from above, its face on the place, with the end of its shaft; from the side a block."""
    x, y = canvas.at(piece.start)
    long, deep = canvas.size(CLUB_LONG, 20), canvas.size(CLUB_DEEP, 6)
    if canvas.view != TOP:
        canvas.add("solid", "rect", x=x - 6, y=y - 6, width=12, height=6, rx=2)
        canvas.take(box_around((x, y - 3), 7, 5))
        return
    angle = canvas.turned((1, 0), piece.number("turn"))
    rotated = rotation(angle, (x, y))
    canvas.add("solid", "rect", x=x - deep, y=y - long / 2, width=deep, height=long, rx=1.5, transform=rotated)
    heel = -1 if canvas.is_mirrored else 1
    shaft = [(x - deep / 2, y + heel * long / 2), (x - deep / 2 - 4, y + heel * (long / 2 + 14))]
    canvas.add("ink", "path", d=path(shaft), transform=rotated)
    canvas.take(box_around((x, y), deep + 1, long / 2 + 2))


def draw_towel(canvas: Canvas, piece: Piece) -> None:
    """A striped rectangle."""
    box = rectangle(canvas, piece, 6)
    canvas.add("cloth", "rect", x=box.left, y=box.top, width=box.right - box.left, height=box.bottom - box.top, rx=1)
    for share in (0.25, 0.5, 0.75):
        across = box.right - box.left >= box.bottom - box.top
        x, y = between((box.left, box.top), (box.right, box.bottom), share)
        ends = [(x, box.top), (x, box.bottom)] if across else [(box.left, y), (box.right, y)]
        canvas.add("soft", "path", d=path(ends))
    take_edges(canvas, box)


def draw_zone(canvas: Canvas, piece: Piece) -> None:
    """A lightly filled rectangle."""
    box = rectangle(canvas, piece, 8)
    canvas.add(
        "zone",
        "rect",
        x=box.left,
        y=box.top,
        width=box.right - box.left,
        height=box.bottom - box.top,
        stroke_dasharray="5 3",
    )
    take_edges(canvas, box)


def take_edges(canvas: Canvas, box: Box) -> None:
    """Keep labels away from the edges of a rectangle."""
    left, top, right, bottom = box
    canvas.take_line([(left, top), (right, top), (right, bottom), (left, bottom), (left, top)])


def rectangle(canvas: Canvas, piece: Piece, least: float) -> Box:
    """The rectangle between two corners."""
    start, end = canvas.at(piece.start), canvas.at(piece.end)
    middle = between(start, end, 0.5)
    return box_around(middle, max(abs(end[0] - start[0]), least) / 2, max(abs(end[1] - start[1]), least) / 2)


def draw_line(canvas: Canvas, piece: Piece) -> None:
    """A dashed line."""
    straight(canvas, piece, "soft", stroke_dasharray="6 5")


def draw_string(canvas: Canvas, piece: Piece) -> None:
    """A thin line between two pegs."""
    straight(canvas, piece, "ink")
    for end in (piece.start, piece.end):
        x, y = canvas.at(end)
        canvas.add("solid", "rect", x=x - 2.5, y=y - 2.5, width=5, height=5)


def draw_rod(canvas: Canvas, piece: Piece) -> None:
    """A thick line with round ends."""
    straight(canvas, piece, "thick")


def draw_wall(canvas: Canvas, piece: Piece) -> None:
    """A very thick line with flat ends."""
    straight(canvas, piece, "thick", stroke_width="7", stroke_linecap="butt")


def straight(canvas: Canvas, piece: Piece, look: str, **attributes: str) -> None:
    """A line between the two points of a piece."""
    ends = [canvas.at(piece.start), canvas.at(piece.end)]
    canvas.add(look, "path", d=path(ends), **attributes)
    canvas.take_line(ends)


def draw_roll(canvas: Canvas, piece: Piece) -> None:
    """The way of a rolling ball, perhaps curved, with the head of an arrow."""
    (x, y), (to_x, to_y) = piece.start, piece.end
    long = hypot(to_x - x, to_y - y)
    aside = (-(to_y - y) / long, (to_x - x) / long)
    if aside[1] < 0:
        aside = (-aside[0], -aside[1])
    bend = 2 * piece.number("bend")  # a curve with one control point goes half as far aside as that point
    middle = between(piece.start, piece.end, 0.5)
    arrow(canvas, piece, (middle[0] + bend * aside[0], middle[1] + bend * aside[1]))


def draw_flight(canvas: Canvas, piece: Piece) -> None:
    """The way of a flying ball, dotted: straight from above, an arc from the side."""
    middle = between(piece.start, piece.end, 0.5)
    if canvas.view != TOP:
        wished = max(piece.start[1], piece.end[1]) + ARC * abs(piece.end[0] - piece.start[0])
        middle = (middle[0], 2 * min(wished, canvas.high) - middle[1])
    arrow(canvas, piece, middle, stroke_dasharray="0.1 5", stroke_width="3")


def arrow(canvas: Canvas, piece: Piece, control: Point, **attributes: str) -> None:
    """A curve with one control point, with the head of an arrow at its end."""
    start, pull, end = canvas.at(piece.start), canvas.at(control), canvas.at(piece.end)
    long = hypot(end[0] - pull[0], end[1] - pull[1]) or 1.0
    ahead = ((end[0] - pull[0]) / long, (end[1] - pull[1]) / long)
    back = (end[0] - HEAD_LONG * ahead[0], end[1] - HEAD_LONG * ahead[1])
    curve = f"{path([start])}Q{number(pull[0])} {number(pull[1])} {number(back[0])} {number(back[1])}"
    canvas.add("way", "path", d=curve, **attributes)
    wings = [(back[0] - side * HEAD_WIDE * ahead[1], back[1] + side * HEAD_WIDE * ahead[0]) for side in (-1, 1)]
    canvas.add("accent", "path", d=f"{path([end, *wings])}Z")
    canvas.take_line(curve_points(start, pull, end))


def curve_points(start: Point, pull: Point, end: Point) -> list[Point]:
    """Some places of a curve with one control point."""
    shares = [step / 8 for step in range(9)]
    return [between(between(start, pull, share), between(pull, end, share), share) for share in shares]


def draw_player(canvas: Canvas, piece: Piece) -> None:
    """A figure of lines with a head, and a club in its hands."""
    figure = figure_of(piece, canvas.view)
    for line in (*figure.lines, *figure.arms):
        places = [canvas.at(point) for point in line]
        canvas.add("thick", "path", d=path(places), stroke_width="3")
        canvas.take_line(places)
    club = [canvas.at(point) for point in figure.club]
    canvas.add("ink", "path", d=path(club))
    canvas.take_line(club)
    (x, y), radius = canvas.at(figure.head), HEAD * canvas.scale
    canvas.add("shape", "circle", cx=x, cy=y, r=radius)
    canvas.take(box_around((x, y), radius))
    draw_club(canvas, Piece("club", {"x": figure.club[1][0], "y": figure.club[1][1]}))


def rotation(angle: float, around: Point) -> str:
    """The attribute that turns an element around a place."""
    return f"rotate({number(angle)} {number(around[0])} {number(around[1])})"


def draw_length(canvas: Canvas, piece: Piece) -> None:
    """A measure line between two strokes; its label comes later, with the words."""
    start, end = canvas.at(piece.start), canvas.at(piece.end)
    long = hypot(end[0] - start[0], end[1] - start[1]) or 1.0
    across, down = (start[1] - end[1]) / long, (end[0] - start[0]) / long
    canvas.add("soft", "path", d=path([start, end]))
    for x, y in (start, end):
        canvas.add("soft", "path", d=path([(x - 5 * across, y - 5 * down), (x + 5 * across, y + 5 * down)]))
    canvas.take_line([start, end])


def label_length(canvas: Canvas, piece: Piece, units: str) -> None:
    """The label of a measure line."""
    (x, y), (to_x, to_y) = piece.start, piece.end
    words = length_label(hypot(to_x - x, to_y - y), units)
    put_label(canvas, words, places_for_length(canvas.at(piece.start), canvas.at(piece.end), words))


def label_text(canvas: Canvas, piece: Piece, side: str | None) -> None:
    """A short text."""
    words = render(piece.words, side)
    put_label(canvas, words, places_for_text(canvas.at(piece.start), words))


SYMBOLS: Mapping[str, Callable[[Canvas, Piece], None]] = {
    "ball": draw_ball,
    "hole": draw_hole,
    "flag": draw_flag,
    "tee": draw_tee,
    "coin": draw_coin,
    "cup": draw_cup,
    "spot": draw_spot,
    "feet": draw_feet,
    "club": draw_club,
    "towel": draw_towel,
    "zone": draw_zone,
    "line": draw_line,
    "string": draw_string,
    "rod": draw_rod,
    "wall": draw_wall,
    "roll": draw_roll,
    "flight": draw_flight,
    "player": draw_player,
    "length": draw_length,
}
