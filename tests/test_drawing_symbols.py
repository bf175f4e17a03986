"""Symbols and labels of drawings: where they stand, how large they are, and which places labels keep clear of.

Ball and hole are as wide as the Rules of Golf say (2023, Equipment Rules, part 4, and Definitions: 42.67 and 108 mm);
the other sizes, and how roundly people say a length, are common practice, no source.
"""

import re
from collections.abc import Iterable
from itertools import pairwise
from math import cos, hypot, radians, sin
from typing import Any
from xml.etree.ElementTree import Element

import pytest

from drills.library.drawing import check, draw
from drills.library.drawing.canvas import WIDTH, Box, Canvas, Point, between, box_around, number
from drills.library.drawing.figure import HEAD, from_behind, from_the_front
from drills.library.drawing.labels import best_of, kept_inside, places_for_length, places_for_text, put_label
from drills.library.drawing.lengths import in_units, length_label
from drills.library.drawing.pieces import Piece
from drills.library.drawing.symbols import SYMBOLS, label_length

NEAR, FAR = [-20.0, -10.0, 20.0, 20.0], [-1500.0, -900.0, 1500.0, 900.0]
VIEWS = ("top", "face_on", "down_the_line")
CORNERS = {"x": -10.0, "y": -5.0, "to_x": 14.0, "to_y": 3.0}


def drawn(name: str, frame: list[float], view: str = "top", side: str = "right", **values: float) -> Canvas:
    """A picture of one piece."""
    canvas = Canvas(frame, view, side)
    SYMBOLS[name](canvas, Piece(name, values))
    return canvas


def numbers(text: str) -> list[float]:
    return [float(found) for found in re.findall(r"-?[\d.]+", text)]


def points_of(element: Element) -> list[Point]:
    """The outermost points of a shape, or those of a way, turned as the picture turns them."""
    value = {name: float(text) for name, text in element.attrib.items() if re.fullmatch(r"-?[\d.]+", text)}
    if "d" in element.attrib:
        each = numbers(element.attrib["d"])
        points = [*zip(each[::2], each[1::2], strict=True)]
    elif "cx" in value:
        across, down = value.get("rx", value.get("r", 0.0)), value.get("ry", value.get("r", 0.0))
        x, y = value["cx"], value["cy"]
        points = [(x - across, y), (x + across, y), (x, y - down), (x, y + down)]
    else:
        x, y, wide, high = value["x"], value["y"], value["width"], value["height"]
        points = [(x, y), (x + wide, y), (x, y + high), (x + wide, y + high)]
    if "transform" in element.attrib:
        angle, x, y = numbers(element.attrib["transform"])
        cosine, sine = cos(radians(angle)), sin(radians(angle))
        points = [(x + (a - x) * cosine - (b - y) * sine, y + (a - x) * sine + (b - y) * cosine) for a, b in points]
    return points


def extent(points: Iterable[Point]) -> Box:
    across, down = zip(*points, strict=True)
    return Box(min(across), min(down), max(across), max(down))


def extent_of(canvas: Canvas) -> Box:
    return extent(point for element in canvas.root for point in points_of(element))


def taken_of(canvas: Canvas) -> Box:
    return extent(corner for box in canvas.taken for corner in ((box.left, box.top), (box.right, box.bottom)))


# --- Symbols of one place -------------------------------------------------------------------------

STANDING = {"ball", "cup", "tee", "flag", "club"}  # what stands on its place where it is seen from the side


@pytest.mark.parametrize("frame", [NEAR, FAR])
@pytest.mark.parametrize("view", VIEWS)
def test_a_symbol_stands_in_the_middle_of_its_place_or_on_it(view: str, frame: list[float]) -> None:
    for name in ("ball", "hole", "tee", "coin", "cup", "spot"):
        for side in ("right", "left"):
            canvas = drawn(name, frame, view, side, x=3, y=0)
            (x, y), box = canvas.at((3, 0)), extent_of(canvas)
            assert (box.left + box.right) / 2 == pytest.approx(x, abs=0.11), name
            if view == "top" or name in ("coin", "spot"):
                assert (box.top + box.bottom) / 2 == pytest.approx(y, abs=0.11), name
            else:
                assert (box.bottom if name in STANDING else box.top) == pytest.approx(y, abs=0.11), name
            assert box.right - box.left >= 6, "it can be seen"


@pytest.mark.parametrize("frame", [NEAR, FAR, [0.0, 0.0, 20.0, 20.0]])
def test_labels_keep_clear_of_all_that_is_drawn_of_a_symbol_and_of_little_more(frame: list[float]) -> None:
    for name in ("ball", "hole", "tee", "coin", "cup", "spot", "flag", "club", "feet"):
        for view in VIEWS:
            if (name, view) in (("club", "top"), *(("feet", view) for view in VIEWS[1:])):
                continue  # a club is turned, and its shaft may be written on
            canvas = drawn(name, frame, view, x=5, y=5 if name == "flag" else 0, size=1)
            taken, seen = taken_of(canvas), extent_of(canvas)
            beyond = [
                seen.left - taken.left,
                seen.top - taken.top,
                taken.right - seen.right,
                taken.bottom - seen.bottom,
            ]
            assert min(beyond) >= -0.11 and max(beyond) <= 2.11, (name, view, beyond)
            assert beyond[0] == pytest.approx(beyond[2], abs=0.25) or name == "flag", "as much on either side"


def test_symbols_are_as_large_as_the_thing_where_there_is_room() -> None:
    sizes = {"ball": 4.267, "hole": 10.8, "coin": 2.4, "cup": 8.0}
    for name, size_cm in sizes.items():
        canvas = drawn(name, [0.0, 0.0, 30.0, 20.0], x=15, y=10)
        box = extent_of(canvas)
        assert (box.right - box.left) / canvas.scale == pytest.approx(size_cm, rel=0.03), name
    canvas = drawn("feet", NEAR, x=0, y=0, size=1)
    shoe = extent(points_of(canvas.root[0]))
    assert (shoe.bottom - shoe.top) / canvas.scale == pytest.approx(29, rel=0.02)
    assert (shoe.right - shoe.left) / canvas.scale == pytest.approx(11, rel=0.02)


@pytest.mark.parametrize(("height", "lies"), [(-0.5, False), (0, True), (2.1, True), (3, True), (3.5, False)])
def test_a_ball_that_is_hardly_off_the_ground_lies_on_it(height: float, lies: bool) -> None:
    canvas = drawn("ball", FAR, "face_on", x=0, y=height)
    on_ground = extent_of(canvas).bottom == pytest.approx(canvas.at((0, 0))[1], abs=0.06)
    assert on_ground == lies


def test_a_ball_seen_from_above_is_where_it_is() -> None:
    canvas = drawn("ball", FAR, "top", x=0, y=2)
    box = extent_of(canvas)
    assert (box.top + box.bottom) / 2 == pytest.approx(canvas.at((0, 2))[1], abs=0.06)


def test_a_flag_flies_from_the_top_of_its_stick_and_stays_in_the_picture() -> None:
    canvas = drawn("flag", FAR, x=0, y=0)
    x, y = canvas.at((0, 0))
    stick, cloth = (extent(points_of(element)) for element in canvas.root)
    assert (stick.left, stick.right, stick.bottom) == pytest.approx((x, x, y), abs=0.06)
    assert (cloth.left, cloth.top) == pytest.approx((x, stick.top), abs=0.06)
    tip = max(points_of(canvas.root[1]))
    assert tip[1] == pytest.approx((cloth.top + cloth.bottom) / 2, abs=0.06), "a pennant is the same above and below"
    assert cloth.bottom - cloth.top < (stick.bottom - stick.top) / 2 and y - stick.top == pytest.approx(30, abs=0.1)
    high = drawn("flag", FAR, x=0, y=FAR[3])
    assert extent_of(high).top >= 0 and y > extent_of(high).bottom


def test_a_cross_is_as_wide_as_high_and_a_coin_on_its_edge_is_flat() -> None:
    box = extent_of(drawn("spot", FAR, x=0, y=0))
    assert box.right - box.left == pytest.approx(box.bottom - box.top, abs=0.11)
    coin = extent_of(drawn("coin", FAR, "face_on", x=0, y=0))
    assert coin.bottom == coin.top and coin.right - coin.left > 5


def test_a_cup_shows_its_ring_from_above_only() -> None:
    for view, shapes in (("top", ["rect", "circle"]), ("face_on", ["rect"])):
        canvas = drawn("cup", NEAR, view, x=0, y=0)
        assert [element.tag for element in canvas.root] == shapes
        outer = extent(points_of(canvas.root[0]))
        assert outer.right - outer.left == pytest.approx(outer.bottom - outer.top, abs=0.11), "as wide as high"
    canvas = drawn("cup", NEAR, x=0, y=0)
    outer, ring = (extent(points_of(element)) for element in canvas.root)
    assert (ring.left - outer.left) == pytest.approx(outer.right - ring.right, abs=0.11)
    assert ring.right - ring.left == pytest.approx((outer.right - outer.left) / 2, abs=0.2)


# --- Feet, club and player ------------------------------------------------------------------------


@pytest.mark.parametrize("side", ["right", "left"])
@pytest.mark.parametrize("angle", [0.0, 25.0])
def test_shoes_stand_as_far_apart_as_is_said_each_with_its_toe_ahead(side: str, angle: float) -> None:
    feet = {"x": 0, "y": -5, "size": 30, "turn": angle}
    canvas = drawn("feet", [-40.0, -30.0, 40.0, 30.0], side=side, **feet)
    shoes, toes = ([each for each in canvas.root if each.tag == tag] for tag in ("ellipse", "circle"))
    for x, shoe, toe in zip((-15, 15), shoes, toes, strict=True):
        place = canvas.at((x, -5))
        assert (float(shoe.attrib["cx"]), float(shoe.attrib["cy"])) == pytest.approx(place, abs=0.06)
        heel, tip = sorted(points_of(shoe)[:2], key=lambda point: -point[1])
        across, down = float(toe.attrib["cx"]), float(toe.attrib["cy"])
        along = ((across - heel[0]) * (tip[0] - heel[0]) + (down - heel[1]) * (tip[1] - heel[1])) / hypot(
            tip[0] - heel[0], tip[1] - heel[1]
        ) ** 2
        assert 0.75 < along < 0.9, "near the tip, and inside the shoe"
        aside = hypot(across - heel[0], down - heel[1]) ** 2 - (along * hypot(tip[0] - heel[0], tip[1] - heel[1])) ** 2
        assert abs(aside) < 2, "on its middle line"
        long, wide = hypot(tip[0] - heel[0], tip[1] - heel[1]), 2 * float(shoe.attrib["ry"])
        assert long / wide == pytest.approx(29 / 11, rel=0.03) and 2 * float(toe.attrib["r"]) < wide / 2
        target = canvas.at((100, -5))[0] - place[0]
        assert (tip[0] - heel[0]) * target > 0 if angle else abs(tip[0] - heel[0]) < 0.2
        [taken] = [box for box in canvas.taken if abs((box.left + box.right) / 2 - place[0]) < 0.1]
        assert (taken.right - taken.left, taken.bottom - taken.top) == pytest.approx((wide, long), abs=0.3)


@pytest.mark.parametrize("side", ["right", "left"])
def test_a_club_on_a_picture_of_a_whole_green_is_told_from_a_rod_and_from_a_tee(side: str) -> None:
    """Half as deep again as a rod is thick, three times as long, and its shaft is shorter than its head."""
    canvas = drawn("club", FAR, side=side, x=0, y=0)
    rod = float(drawn("rod", FAR, x=0, y=0, to_x=90, to_y=0).root[0].attrib["stroke-width"])
    head, (begin, end) = extent(points_of(canvas.root[0])), points_of(canvas.root[1])
    assert head.right - head.left >= 1.5 * rod and head.bottom - head.top >= 3 * (head.right - head.left)
    assert hypot(end[0] - begin[0], end[1] - begin[1]) < head.bottom - head.top


@pytest.mark.parametrize("side", ["right", "left"])
def test_the_face_of_a_club_is_on_its_place_and_its_shaft_comes_from_the_player(side: str) -> None:
    canvas = drawn("club", [-40.0, -30.0, 40.0, 30.0], side=side, x=0, y=0)
    head, shaft = canvas.root
    (x, y), box = canvas.at((0, 0)), extent(points_of(head))
    target = canvas.at((10, 0))[0] - x
    face, back = (box.right, box.left) if target > 0 else (box.left, box.right)
    assert face == pytest.approx(x, abs=0.11) and (back - face) * target < 0
    assert (box.top + box.bottom) / 2 == pytest.approx(y, abs=0.11)
    assert (box.bottom - box.top) / (box.right - box.left) == pytest.approx(11 / 3, rel=0.12)
    begin, end = points_of(shaft)
    assert begin == pytest.approx(((face + back) / 2, box.bottom), abs=0.2), (
        "it begins in the middle of the head's edge"
    )
    assert end[1] > begin[1] + 10 and (end[0] - begin[0]) * target < 0, "towards the player, who stands below"
    [taken] = canvas.taken
    assert (taken.left + taken.right) / 2 == pytest.approx(
        x, abs=0.1
    ) and taken.top < box.top < box.bottom < taken.bottom
    assert taken.left < box.left and taken.right > box.right


@pytest.mark.parametrize("view", VIEWS[1:])
def test_from_the_side_a_club_is_a_block_on_the_ground(view: str) -> None:
    canvas = drawn("club", FAR, view, x=0, y=0)
    [box] = [extent(points_of(element)) for element in canvas.root]
    assert ((box.left + box.right) / 2, box.bottom) == pytest.approx(canvas.at((0, 0)), abs=0.11)
    assert box.right - box.left > box.bottom - box.top > 3


PLAYER = {"x": 0.0, "size": 40.0, "lean": 0.0, "hands_x": 5.0, "hands_y": 70.0, "club_x": 20.0, "club_y": 0.0}


def test_who_stands_upright_is_the_same_on_both_sides_and_as_wide_as_is_said() -> None:
    figure = from_the_front(Piece("player", PLAYER))
    left, right, trunk, hips, shoulders = figure.lines
    assert [(-x, y) for x, y in left] == [*right] and right[0] == (20, 0)
    assert [sum(x for x, _ in line) for line in (trunk, hips, shoulders)] == [0, 0, 0]
    assert right[-1] == hips[1] and left[-1] == hips[0] and trunk == ((0, hips[0][1]), (0, shoulders[0][1]))
    assert figure.head[0] == 0 and figure.head[1] - HEAD > shoulders[0][1] > hips[0][1] > 0
    assert 150 < figure.head[1] + HEAD < 185, "a grown-up of about 170 cm, who bends over"
    assert shoulders[1][0] - shoulders[0][0] > hips[1][0] - hips[0][0] > 20
    assert figure.arms == tuple((end, (5.0, 70.0)) for end in shoulders) and figure.club == ((5.0, 70.0), (20.0, 0.0))
    knee = right[1]
    assert knee == ((right[0][0] + right[2][0]) / 2, right[2][1] / 2), "a straight leg"


def test_bent_knees_point_outwards_and_lower_all_that_is_above_them() -> None:
    straight, bent = (from_the_front(Piece("player", PLAYER | {"knee": knee})) for knee in (0.0, 10.0))
    assert [line[1][0] for line in bent.lines[:2]] == [straight.lines[0][1][0] - 5, straight.lines[1][1][0] + 5]
    for above, below in zip(straight.lines[2:], bent.lines[2:], strict=True):
        assert {(x, y - 5) for x, y in above} == {*below}
    assert bent.head == (0, straight.head[1] - 5)
    behind = [from_behind(Piece("player", PLAYER | {"knee": knee})) for knee in (0.0, 10.0)]
    assert behind[1].head[1] == behind[0].head[1] - 5 and behind[1].lines[1][1][0] == behind[0].lines[1][1][0] + 10


def test_who_leans_takes_the_head_along_and_a_head_may_be_elsewhere() -> None:
    """From the front half as far at the hips as at the shoulders, and on along the same line."""
    figure = from_the_front(Piece("player", PLAYER | {"x": 10.0, "lean": 20.0}))
    hip, shoulder = figure.lines[2]
    assert (hip[0], shoulder[0]) == (20, 30)
    rise = (figure.head[0] - shoulder[0]) / (figure.head[1] - shoulder[1])
    assert rise == pytest.approx((shoulder[0] - hip[0]) / (shoulder[1] - hip[1]))
    assert from_the_front(Piece("player", PLAYER | {"head_x": 7.0})).head[0] == 7
    behind = from_behind(Piece("player", PLAYER | {"x": 10.0, "lean": 20.0}))
    assert behind.head[0] > behind.lines[2][1][0] == 30 and behind.lines[2][0][0] == 10 - 0.4 * 20
    assert from_behind(Piece("player", PLAYER | {"head_x": 7.0})).head[0] == 7


def test_from_behind_a_shoe_is_as_long_as_is_said_and_the_leg_stands_on_its_heel_half() -> None:
    figure = from_behind(Piece("player", PLAYER))
    shoe, leg, trunk = figure.lines
    assert shoe == ((-20, 0), (20, 0)) and leg[0] == (-10, 0) and leg[2] == trunk[0] == (0, trunk[0][1])
    assert leg[1] == (-5, trunk[0][1] / 2) and trunk[1][1] - trunk[0][1] == pytest.approx(52)
    assert figure.arms == ((trunk[1], (5.0, 70.0)),)
    lowest, flat = (from_behind(Piece("player", PLAYER | {"lean": lean})) for lean in (60.0, 52 / 1.4))
    assert lowest.lines[2][1][1] == lowest.lines[2][0][1] and flat.lines[2][1][1] == pytest.approx(flat.lines[2][0][1])


def test_every_joint_and_the_edge_of_the_head_are_among_the_points_of_a_figure() -> None:
    figure = from_the_front(Piece("player", PLAYER))
    x, y = figure.head
    around = {(x - HEAD, y), (x + HEAD, y), (x, y + HEAD)}
    every = {point for line in (*figure.lines, *figure.arms, figure.club) for point in line}
    assert {*figure.points} == around | every


def test_a_player_is_drawn_where_the_figure_says_with_the_club_on_the_ground() -> None:
    canvas = drawn("player", [-60.0, -10.0, 60.0, 180.0], "face_on", **PLAYER)
    figure = from_the_front(Piece("player", PLAYER))
    [head] = [element for element in canvas.root if element.tag == "circle"]
    assert (float(head.attrib["cx"]), float(head.attrib["cy"])) == pytest.approx(canvas.at(figure.head), abs=0.06)
    assert float(head.attrib["r"]) == pytest.approx(HEAD * canvas.scale, abs=0.06)
    ways = [points_of(element) for element in canvas.root if element.tag == "path"]
    for line in (*figure.lines, *figure.arms, figure.club):
        assert any(way == [pytest.approx(canvas.at(point), abs=0.06) for point in line] for way in ways), line
        assert all(is_kept_clear(canvas, canvas.at(point)) for point in line)
    [block] = [extent(points_of(element)) for element in canvas.root if element.tag == "rect"]
    assert block.bottom == pytest.approx(canvas.at((20, 0))[1], abs=0.11)
    assert is_kept_clear(canvas, canvas.at(figure.head))


def is_kept_clear(canvas: Canvas, place: Point, near: float = 0.1) -> bool:
    """Whether a label would hide something at this place."""
    return any(
        box.left - near <= place[0] <= box.right + near and box.top - near <= place[1] <= box.bottom + near
        for box in canvas.taken
    )


# --- Pieces of two places -------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["towel", "zone"])
def test_a_rectangle_lies_between_its_corners_and_its_edges_are_kept_clear(name: str) -> None:
    canvas = drawn(name, NEAR, **CORNERS)
    corners = [canvas.at((x, y)) for x in (-10, 14) for y in (-5, 3)]
    outer, inner = extent(points_of(canvas.root[0])), extent(corners)
    assert outer == pytest.approx(inner, abs=0.11)
    middle = ((inner.left + inner.right) / 2, (inner.top + inner.bottom) / 2)
    for begin, end in pairwise([corners[0], corners[1], corners[3], corners[2], corners[0]]):
        for step in range(101):
            place = between(begin, end, step / 100)
            assert is_kept_clear(canvas, place, near=2.2), place
            outside = (place[0] + (place[0] - middle[0]), place[1] + (place[1] - middle[1]))
            assert not is_kept_clear(canvas, outside)
    assert not is_kept_clear(canvas, middle), "there is room for words inside"
    small = drawn(name, FAR, x=0, y=0, to_x=1, to_y=1)
    box = extent(points_of(small.root[0]))
    assert box.right - box.left == pytest.approx(box.bottom - box.top) and box.right - box.left >= 6


@pytest.mark.parametrize("upright", [False, True])
def test_the_stripes_of_a_towel_run_across_it_and_divide_it_evenly(upright: bool) -> None:
    corners = {"x": -4.0, "y": -8.0, "to_x": 4.0, "to_y": 16.0} if upright else CORNERS
    canvas = drawn("towel", NEAR, **corners)
    box, *stripes = [extent(points_of(element)) for element in canvas.root]
    assert len(stripes) == 3
    for quarter, stripe in enumerate(stripes, 1):
        if upright:
            assert (stripe.left, stripe.right) == pytest.approx((box.left, box.right), abs=0.11)
            assert (
                stripe.top == stripe.bottom == pytest.approx(box.top + quarter * (box.bottom - box.top) / 4, abs=0.11)
            )
        else:
            assert (stripe.top, stripe.bottom) == pytest.approx((box.top, box.bottom), abs=0.11)
            assert (
                stripe.left == stripe.right == pytest.approx(box.left + quarter * (box.right - box.left) / 4, abs=0.11)
            )


def test_lines_run_from_end_to_end_and_a_wall_is_thicker_than_a_rod_and_a_rod_than_a_string() -> None:
    widths = {}
    for name in ("line", "string", "rod", "wall", "length"):
        canvas = drawn(name, NEAR, **CORNERS)
        ends = [canvas.at((-10, -5)), canvas.at((14, 3))]
        assert points_of(canvas.root[0]) == [pytest.approx(end, abs=0.06) for end in ends], name
        assert all(is_kept_clear(canvas, between(*ends, step / 200), near=2.2) for step in range(201)), name
        assert len(canvas.taken) < 60 and not is_kept_clear(canvas, between(*ends, 1.1))
        widths[name] = float(canvas.root[0].attrib["stroke-width"])
    assert widths["wall"] > widths["rod"] > widths["string"] > widths["line"] >= widths["length"] > 0
    string = drawn("string", NEAR, **CORNERS)
    for peg, place in zip(string.root[1:], ((-10, -5), (14, 3)), strict=True):
        box = extent(points_of(peg))
        assert ((box.left + box.right) / 2, (box.top + box.bottom) / 2) == pytest.approx(string.at(place), abs=0.11)
        assert box.right - box.left == box.bottom - box.top


@pytest.mark.parametrize("end", [(14.0, 3.0), (-10.0, 15.0), (-16.0, -9.0), (0.0, -9.0)])
@pytest.mark.parametrize("bend", [0.0, 4.0, -4.0])
def test_a_roll_ends_in_an_arrow_and_bends_as_far_aside_as_is_said(end: Point, bend: float) -> None:
    canvas = drawn("roll", NEAR, x=0, y=0, to_x=end[0], to_y=end[1], bend=bend)
    start, pull, back = points_of(canvas.root[0])
    tip, *wings = points_of(canvas.root[1])
    assert start == pytest.approx(canvas.at((0, 0)), abs=0.06) and tip == pytest.approx(canvas.at(end), abs=0.06)
    long = hypot(*end)
    middle, aside = (end[0] / 2, end[1] / 2), (-end[1] / long, end[0] / long)
    aside = aside if aside[1] > 0 or (aside[1] == 0 and aside[0] > 0) else (-aside[0], -aside[1])
    if aside[1] > 0.01:  # straight up or down either side is right
        wished = canvas.at((middle[0] + 2 * bend * aside[0], middle[1] + 2 * bend * aside[1]))
        assert pull == pytest.approx(wished, abs=0.11), "away from the player"
    assert between(*wings, 0.5) == pytest.approx(back, abs=0.11), "the head sits on the end of the way"
    head_long, head_wide = (
        hypot(tip[0] - back[0], tip[1] - back[1]),
        hypot(*(a - b for a, b in zip(*wings, strict=True))),
    )
    assert head_long == pytest.approx(head_wide, rel=0.1), "as wide as long, about"
    straight = (tip[0] - back[0]) * (wings[0][0] - wings[1][0]) + (tip[1] - back[1]) * (wings[0][1] - wings[1][1])
    assert abs(straight) < 2.5, "across the way"
    ahead = (tip[0] - back[0]) * (tip[0] - pull[0]) + (tip[1] - back[1]) * (tip[1] - pull[1])
    assert ahead / head_long / hypot(tip[0] - pull[0], tip[1] - pull[1]) == pytest.approx(1, abs=0.02)
    for step in range(51):
        share = step / 50
        place = between(between(start, pull, share), between(pull, tip, share), share)
        assert is_kept_clear(canvas, place, near=3.5), place


def test_a_ball_flies_straight_from_above_and_in_an_arc_from_the_side_that_stays_in_the_frame() -> None:
    """About a quarter as high as far."""
    above = drawn("flight", NEAR, x=-10, y=0, to_x=14, to_y=0)
    assert len({y for _, y in points_of(above.root[0])}) == 1
    for begin, end, top in (((-10, 0), (10, 0), 5.6), ((-10, 4), (10, 0), 9.6), ((10, 0), (-10, 4), 9.6)):
        canvas = drawn("flight", [-20.0, -2.0, 20.0, 30.0], "face_on", x=begin[0], y=begin[1], to_x=end[0], to_y=end[1])
        start, pull, _ = points_of(canvas.root[0])
        tip = canvas.at(end)
        middle = between(between(start, pull, 0.5), between(pull, tip, 0.5), 0.5)
        assert middle == pytest.approx(canvas.at((0, top)), abs=0.2)
    low = drawn("flight", [-20.0, -2.0, 20.0, 4.0], "face_on", x=-10, y=0, to_x=10, to_y=0)
    start, pull, _ = points_of(low.root[0])
    middle = between(between(start, pull, 0.5), between(pull, low.at((10, 0)), 0.5), 0.5)
    assert middle[1] == pytest.approx(low.at((0, 4))[1], abs=0.2)


# --- The picture ----------------------------------------------------------------------------------


def test_a_frame_fills_the_picture_as_far_as_it_is_wide_or_high() -> None:
    """The widest is as wide as the narrowest phone shows, less an edge; a low one is still tall enough for labels."""
    for frame, side_cm in (([0.0, 0.0, 100.0, 50.0], "wide"), ([0.0, 0.0, 50.0, 100.0], "high")):
        canvas = Canvas(frame, "top", "left")
        low, high = canvas.at((frame[0], frame[1])), canvas.at((frame[2], frame[3]))
        assert (low[0] + high[0], low[1] + high[1]) == pytest.approx((WIDTH, canvas.height))
        assert abs(high[0] - low[0]) / (frame[2] - frame[0]) == pytest.approx(canvas.scale)
        assert abs(high[1] - low[1]) / (frame[3] - frame[1]) == pytest.approx(canvas.scale)
        assert min(low[0], high[0]) >= 18 and high[1] >= 18
        assert (min(low[0], high[0]) == pytest.approx(18)) == (side_cm == "wide") and high[1] == pytest.approx(18)
    flat = Canvas([0.0, 0.0, 1000.0, 20.0], "top", "left")
    assert flat.height == 90 and flat.at((500, 10)) == pytest.approx((160, 45))
    assert (flat.size(100, 5), flat.size(1, 5)) == (100 * flat.scale, 5)


def test_the_ground_is_drawn_from_edge_to_edge_where_a_view_from_the_side_shows_it() -> None:
    for view, low, is_seen in (
        ("face_on", -10, True),
        ("face_on", 0, True),
        ("face_on", 1, False),
        ("top", -10, False),
    ):
        balls = [{"piece": "ball", "x": x, "y": low + 5} for x in (0, 40)]
        picture = str(draw({"view": view, "frame": [-60, low, 60, 90], "words": "x", "pieces": balls}, "right", "m"))
        ways = [numbers(way) for way in re.findall(r'class="soft"[^>]* d="([^"]*)"', picture)]
        assert len(ways) == is_seen, (view, low)
        if is_seen:
            canvas = Canvas([-60, low, 60, 90], view, "right")
            assert ways[0] == pytest.approx([*canvas.at((-60, 0)), *canvas.at((60, 0))], abs=0.06)
    above = {
        "view": "face_on",
        "frame": [-60, -90, 60, 0],
        "words": "x",
        "pieces": [{"piece": "ball", "x": 0, "y": 0}] * 2,
    }
    assert 'class="soft"' in draw(above, "right", "m") and 'class="soft"' not in draw(
        above | {"frame": [-60, -90, 60, -1]}, "right", "m"
    )


def test_two_boxes_overlap_by_what_both_cover() -> None:
    box = box_around((10, 10), 5)
    assert box == Box(5, 5, 15, 15) and box_around((10, 10), 5, 2) == Box(5, 8, 15, 12)
    cases = {Box(5, 5, 15, 15): 100, Box(12, 13, 30, 40): 6, Box(15, 5, 20, 15): 0, Box(16, 0, 20, 4): 0}
    assert {other: box.overlap(other) for other in cases} == cases
    assert box.overlap(Box(0, 16, 30, 20)) == 0 and box.overlap(Box(0, 7, 8, 9)) == 6


def test_a_number_of_a_picture_has_one_digit_after_the_point_and_no_minus_before_nought() -> None:
    assert [number(value) for value in (1.26, 2.0, -0.04, -1.25, 0.0)] == ["1.3", "2", "0", "-1.2", "0"]


def test_a_direction_is_turned_as_the_picture_is() -> None:
    right, left = Canvas(NEAR, "top", "right"), Canvas(NEAR, "top", "left")
    assert (right.turned((1, 0)) % 360, left.turned((1, 0))) == pytest.approx((180, 0))
    assert (left.turned((0, 1)), left.turned((1, 0), 30)) == pytest.approx((-90, -30))
    assert right.turned((1, 0), 30) == pytest.approx(-150)


# --- Labels ---------------------------------------------------------------------------------------


def label(canvas: Canvas, words: str, *places: Point) -> tuple[Box, Element]:
    """A label's ground and its text."""
    put_label(canvas, words, places)
    *_, ground, text = canvas.root
    return extent(points_of(ground)), text


def test_a_label_stands_on_its_ground_at_the_first_place_that_is_free() -> None:
    canvas = Canvas(NEAR, "top", "right")
    ground, text = label(canvas, "50 cm", (100, 100), (200, 100))
    assert ((ground.left + ground.right) / 2, (ground.top + ground.bottom) / 2) == pytest.approx((100, 100), abs=0.11)
    assert float(text.attrib["x"]) == pytest.approx(100, abs=0.06) and text.attrib["text-anchor"] == "middle"
    size = float(text.attrib["font-size"])
    assert ground.bottom - ground.top >= size and ground.right - ground.left >= 5 * 0.5 * size
    baseline = float(text.attrib["y"])
    assert 0.15 * size < ground.bottom - baseline < 0.35 * size, "below the line there is room for what hangs down"
    again, _ = label(canvas, "50 cm", (100, 100), (200, 100))
    assert again.left > ground.right, "where one stands, no other does"
    assert canvas.taken[0] == pytest.approx(ground, abs=0.11)


def test_where_nothing_is_free_the_least_is_hidden_and_of_two_alike_the_nearer() -> None:
    canvas = Canvas(NEAR, "top", "right")
    canvas.take(Box(0, 0, 320, 300))
    canvas.take(Box(0, 0, 160, 300))
    wished = [Box(x, 50, x + 10, 60) for x in (10, 20, 200)]
    assert best_of(canvas, wished) == wished[2], "half as much is hidden"
    assert best_of(canvas, wished[:2]) == wished[0]
    far = [Box(150, 50, 160, 60), Box(158, 50, 168, 60), Box(300, 50, 310, 60)]
    assert best_of(canvas, far) == far[1], "a little nearer, though a little more is hidden"
    free = Canvas(NEAR, "top", "right")
    assert best_of(free, wished) == wished[0]
    free.take(Box(0, 0, 160, 300))
    assert best_of(free, wished) == wished[2]


def test_a_label_is_moved_into_the_picture() -> None:
    canvas = Canvas(NEAR, "top", "right")
    high = canvas.height
    cases = {
        Box(-10, 50, 20, 60): Box(3, 50, 33, 60),
        Box(300, 50, 330, 60): Box(287, 50, 317, 60),
        Box(50, -5, 80, 5): Box(50, 3, 80, 13),
        Box(50, high - 5, 80, high + 5): Box(50, high - 13, 80, high - 3),
        Box(3, 3, 20, 13): Box(3, 3, 20, 13),
    }
    assert {box: kept_inside(canvas, box) for box in cases} == {
        box: pytest.approx(moved) for box, moved in cases.items()
    }


def test_places_of_a_text_are_its_own_first_and_then_ever_further_away_on_all_sides() -> None:
    first, *others = places_for_text((100.0, 50.0), "word")
    assert first == (100, 50) and len(others) == 5 * 16
    mean = [sum(place[axis] for place in others) / len(others) for axis in (0, 1)]
    assert mean == pytest.approx([100, 50]), "as many on one side as on the other"
    half = 4 * 0.57 * 14 / 2
    rings = [others[number * 16 : number * 16 + 16] for number in range(5)]
    furthest = [max(hypot(x - 100, y - 50) for x, y in ring) for ring in rings]
    assert furthest == sorted(furthest) and furthest[0] > half + 6
    assert all(hypot(x - 100, y - 50) > 6 for x, y in others)


def test_places_of_a_measure_line_are_above_its_middle_first_then_below_and_along_it() -> None:
    places = [*places_for_length((20.0, 50.0), (120.0, 50.0), "1 m")]
    assert len(places) == 40 and {x for x, _ in places} == {70, 50, 90, 20, 120}
    assert [x for x, _ in places[:2]] == [70, 70] and places[0][1] < 50 < places[1][1]
    assert [50 - places[0][1], places[1][1] - 50] == pytest.approx([0.6 * 14 + 6] * 2)
    further = sorted({round(50 - y, 6) for _, y in places if y < 50})
    assert len(further) == 4 and further[-1] < 50
    up = [*places_for_length((50.0, 120.0), (50.0, 20.0), "1 m")]
    assert {y for _, y in up} == {70, 50, 90, 20, 120} and abs(up[0][0] - 50) > 3 * 0.57 * 14 / 2
    backwards = [*places_for_length((120.0, 50.0), (20.0, 50.0), "1 m")]
    assert backwards[0] == pytest.approx(places[0]), "above, whichever end comes first"


def test_the_label_of_a_line_is_its_length() -> None:
    canvas = Canvas([-10.0, -10.0, 90.0, 90.0], "top", "right")
    label_length(canvas, Piece("length", {"x": 5, "y": 10, "to_x": 35, "to_y": 50}), "m")
    assert canvas.root[-1].text == "50 cm", "of three, four and five"


def test_a_length_is_said_as_roundly_as_one_would() -> None:
    """An inch is 2.54 cm and a foot 30.48 cm, exactly (the international agreement of 1959)."""
    metric = {4.26: "4.5 cm", 9.8: "10 cm", 12.4: "12 cm", 94.4: "94 cm", 95: "0.9 m", 96: "1 m", 154: "1.5 m"}
    metric |= {990: "9.9 m", 1040: "10 m", 1260: "13 m"}
    assert {length: length_label(length, "m") for length in metric} == metric
    feet = {
        4: "1.5 in",
        24.9: "10 in",
        26.5: "10 in",
        94: "37 in",
        96: "3 ft",
        108: "3.5 ft",
        295: "9.5 ft",
        326: "11 ft",
    }
    assert {length: length_label(length, "ft") for length in feet} == feet


def test_lengths_in_words_are_read_in_the_unit_of_the_academy() -> None:
    texts = {
        "Stand 2 m away.": "Stand 6.5 ft away.",
        "From 1, 2 and 3 m, 10 balls each": "From 3.5, 6.5 and 10 ft, 10 balls each",
        "3 to 5 cm apart": "1 to 2 in apart",
        "Putt 5 m or 12 m.": "Putt 16 ft or 39 ft.",
        "a line of 90 cm": "a line of 35 in",
        "a line of 95 cm": "a line of 3 ft",
        "a line of 100 cm": "a line of 3.5 ft",
        "10 mm, 3 miles and a v2 m": "10 mm, 3 miles and a v2 m",
    }
    for words, in_feet in list(texts.items())[:-1]:
        assert (in_units(words, "m"), in_units(words, "ft")) == (words, in_feet)


# --- What is refused ------------------------------------------------------------------------------

BALLS = [{"piece": "ball", "x": 0, "y": 0}, {"piece": "ball", "x": 40, "y": 0}]


def problems(**changes: Any) -> set[tuple[int | None, str]]:
    """The fields of a drawing of two balls in which something is wrong."""
    right: dict[str, Any] = {"view": "top", "frame": [-60, -50, 60, 50], "words": "Two balls.", "pieces": BALLS}
    return {(problem.piece, problem.field) for problem in check(right | changes)}


def test_what_is_at_a_limit_is_right_and_what_is_beyond_it_is_not() -> None:
    text = {"piece": "text", "x": 0, "y": 0}
    right: list[dict[str, Any]] = [
        {"pieces": BALLS + [BALLS[0]] * 23},
        {"frame": [0, 0, 3000, 3000], "pieces": BALLS},
        {"frame": [0, 0, 20, 20], "pieces": [BALLS[0]] * 2},
        {
            "frame": [-5000, -50, -2000, 50],
            "pieces": [{"piece": "ball", "x": -5000, "y": 50}, {"piece": "ball", "x": -2000, "y": -50}],
        },
        {"words": "a" * 400},
        {"words": "{lead}" + "a" * 395},
        {"pieces": [*BALLS, text | {"words": "a" * 24}]},
        {"pieces": [{"piece": "ball", "x": -60, "y": -50}, {"piece": "ball", "x": 60, "y": 50}]},
        {"pieces": [*BALLS, {"piece": "feet", "x": 0, "y": 0, "size": 120}]},
        {"pieces": [*BALLS, {"piece": "line", "x": 0, "y": 0, "to_x": 0, "to_y": 1}]},
    ]
    assert [problems(**changes) for changes in right] == [set()] * len(right)
    wrong: list[tuple[dict[str, Any], set[tuple[int | None, str]]]] = [
        ({"pieces": BALLS + [BALLS[0]] * 24}, {(None, "pieces")}),
        ({"pieces": BALLS[:1]}, {(None, "pieces")}),
        ({"frame": [0, 0, 3001, 100]}, {(None, "frame")}),
        ({"frame": [0, 0, 100, 3001]}, {(None, "frame")}),
        ({"frame": [0, 0, 19, 100]}, {(None, "frame")}),
        ({"frame": [0, 0, 100, 19]}, {(None, "frame")}),
        ({"frame": [-5001, 0, -4000, 100]}, {(None, "frame")}),
        ({"words": "a" * 401}, {(None, "words")}),
        ({"words": "{lead}" + "a" * 396}, {(None, "words")}),
        ({"pieces": [*BALLS, text | {"words": "a" * 25}]}, {(2, "words")}),
        ({"pieces": [*BALLS, {"piece": "feet", "x": 0, "y": 0, "size": 121}]}, {(2, "size")}),
        ({"pieces": [*BALLS, {"piece": "feet", "x": 1, "y": 0, "size": 120}]}, {(2, "size")}),
        ({"pieces": [*BALLS, {"piece": "feet", "x": -1, "y": 0, "size": 120}]}, {(2, "size")}),
        ({"pieces": [{"piece": "ball", "x": 61, "y": 51}, *BALLS]}, {(0, "x"), (0, "y")}),
        ({"pieces": [{"piece": "ball", "x": -61, "y": -51}, *BALLS]}, {(0, "x"), (0, "y")}),
        ({"pieces": [*BALLS, {"piece": "line", "x": 0, "y": 0, "to_x": 61, "to_y": 51}]}, {(2, "to_x"), (2, "to_y")}),
        ({"pieces": [*BALLS, {"piece": "line", "x": 3, "y": 4, "to_x": 3, "to_y": 4}]}, {(2, "to_x")}),
        (
            {"pieces": [*BALLS, {"piece": "ball", "x": 0, "y": 0, "colour": "red", "turn": 3}]},
            {(2, "colour"), (2, "turn")},
        ),
    ]
    assert [problems(**changes) for changes, _ in wrong] == [fields for _, fields in wrong]


def test_a_player_fits_into_the_frame_with_head_and_feet_and_the_message_says_how_high() -> None:
    values = {**PLAYER, "x": 0, "club_x": 20}
    pieces = [*BALLS, {"piece": "player", **values}]
    top = max(y for _, y in from_the_front(Piece("player", values)).points)
    tall = {"view": "face_on", "frame": [-60, -10, 60, top], "pieces": pieces}
    assert problems(**tall) == set()
    assert problems(**tall | {"frame": [-60, -10, 60, top - 0.1]}) == {(2, "x")}
    [problem] = check({"words": "x", **tall, "frame": [-60, -10, 60, top - 1]})
    assert problem.message == f"The player reaches from 0 to {top:.0f} cm up: make the frame as high."
    assert problems(**tall | {"frame": [-20, -10, 60, top]}) == set()
    assert problems(**tall | {"frame": [-19, -10, 60, top]}) == {(2, "x")}
    wide = {
        "view": "face_on",
        "frame": [-60, -10, 60, top],
        "pieces": [*BALLS, {"piece": "player", **values, "club_x": 61}],
    }
    assert problems(**wide) == {(2, "club_x")}
