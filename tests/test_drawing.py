"""Drawings of drills: what is wrong is said beside its field, and what is right is drawn for the player's side."""

import copy
import re
from collections.abc import Callable, Iterator
from math import dist
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from django.test import Client
from django.urls import reverse

from coachbook.accounts.models import Academy, Student
from drills.library.drawing import check, draw
from drills.library.drawing.canvas import WIDTH, Box, Canvas, Point
from drills.library.drawing.figure import Figure, from_behind, from_the_front
from drills.library.drawing.labels import HALF_HIGH, LETTER, places_for_length, places_for_text, put_label
from drills.library.drawing.pieces import KINDS, Piece
from drills.library.drawing.symbols import ONE_SHOE, draw_hole
from drills.load import CATALOGUE
from drills.models import Drill
from lessons.shipped import tables
from tests.conftest import Cast
from tests.make import make_drill

GATE: dict[str, Any] = {
    "view": "top",
    "frame": [-60, -70, 260, 60],
    "words": "Two tees stand 50 cm in front of the ball, beside your {lead} foot.",
    "pieces": [
        {"piece": "ball", "x": 0, "y": 0},
        {"piece": "tee", "x": 50, "y": 5},
        {"piece": "hole", "x": 200, "y": 0},
        {"piece": "feet", "x": 0, "y": -45, "size": 35, "turn": 20},
        {"piece": "length", "x": 0, "y": 30, "to_x": 50, "to_y": 30},
        {"piece": "length", "x": 0, "y": -25, "to_x": 200, "to_y": -25},
        {"piece": "text", "x": 200, "y": 0, "words": "{lead} foot"},
    ],
}
PLAYER = {"x": -40, "size": 28, "lean": 28, "hands_x": -20, "hands_y": 68, "club_x": -3, "club_y": 0}
ROW = {"piece": "ball", "x": 0, "y": 0}
OPEN_CLUB = {"piece": "club", "x": -3, "y": 0, "turn": 20}
SHIPPED = {row["code"]: row for row in tables(CATALOGUE, "drill")}


def drawing(**changes: Any) -> dict[str, Any]:
    """A right description with some of its values changed."""
    return {**copy.deepcopy(GATE), **changes}


def with_piece(**piece: Any) -> dict[str, Any]:
    """A right description with one more piece, its last."""
    return drawing(pieces=[*GATE["pieces"], piece])


def of_view(view: str, *pieces: dict[str, Any]) -> dict[str, Any]:
    """A description of two balls and more pieces in a view."""
    balls = [{"piece": "ball", "x": 0, "y": 0}, {"piece": "ball", "x": 40, "y": 0}]
    return {"view": view, "frame": [-110, -10, 120, 170], "words": "What it shows.", "pieces": [*balls, *pieces]}


def root(description: Any, side: str | None = "right", units: str = "m") -> ET.Element:
    return ET.fromstring(str(draw(description, side, units)))


def found(picture: ET.Element, tag: str, look: str = "") -> list[ET.Element]:
    every = picture.iter(f"{{http://www.w3.org/2000/svg}}{tag}")
    return [element for element in every if not look or element.get("class") == look]


def balls(description: Any, side: str) -> list[float]:
    """Where the balls are, from left to right of the picture, in the order of the description."""
    return [float(element.attrib["cx"]) for element in found(root(description, side), "circle", "shape")]


def labels(picture: ET.Element) -> list[str]:
    return [str(element.text) for element in found(picture, "text")]


def fields(description: Any) -> set[tuple[int | None, str]]:
    return {(problem.piece, problem.field) for problem in check(description)}


# --- Which way round ----------------------------------------------------------------------------


@pytest.mark.parametrize(("view", "target_is"), [("top", "left"), ("face_on", "right")])
def test_the_target_is_where_a_player_of_the_right_side_has_it(view: str, target_is: str) -> None:
    """Looking down, a player of the right side has the target at the left; who faces that player, at the right."""
    near, far = balls(of_view(view), "right")
    assert (far < near) == (target_is == "left")
    near, far = balls(of_view(view), "left")
    assert (far < near) == (target_is == "right")


def test_from_behind_a_player_of_the_right_side_stands_left_of_the_ball() -> None:
    """From behind the ball, away from the player is right for the right side."""
    near, far = balls(of_view("down_the_line"), "right")
    assert near < far
    near, far = balls(of_view("down_the_line"), "left")
    assert far < near


def test_both_sides_are_the_mirror_image_of_each_other() -> None:
    for view in ("top", "face_on", "down_the_line"):
        right, left = balls(of_view(view), "right"), balls(of_view(view), "left")
        assert [320 - x for x in right] == pytest.approx(left)


def test_words_are_rendered_for_the_side_and_never_mirrored() -> None:
    for side, word in (("right", "left"), ("left", "right"), (None, "lead")):
        picture = root(GATE, side)
        assert found(picture, "title")[0].text == f"Two tees stand 50 cm in front of the ball, beside your {word} foot."
        assert f"{word} foot" in labels(picture)
        assert not [element for element in found(picture, "text") if "transform" in element.attrib]


def test_without_a_side_it_is_drawn_for_the_right_one() -> None:
    assert balls(GATE, "right") == [float(root(GATE, None).find(".//*[@class='shape'][@cx][@r]").attrib["cx"])]  # type: ignore[union-attr]


def rotated(description: Any, side: str, look: str, tag: str) -> list[float]:
    elements = [element for element in found(root(description, side), tag, look) if "transform" in element.attrib]
    return [float(element.attrib["transform"].removeprefix("rotate(").split()[0]) for element in elements]


def test_open_points_away_from_the_player_and_toes_turn_to_the_target() -> None:
    """A right-side player stands left of the line, and an open face looks right of it: away from the feet."""
    club = with_piece(**OPEN_CLUB)
    # Clockwise from the right of the picture; up is -90. Right side: the target is at 180, so open is less than that.
    assert rotated(club, "right", "solid", "rect") == [-160]
    assert rotated(club, "left", "solid", "rect") == [-20]
    assert rotated(GATE, "right", "shape", "ellipse") == [-110, -110]
    assert rotated(GATE, "left", "shape", "ellipse") == [-70, -70]


# --- What is seen -------------------------------------------------------------------------------


def test_lengths_are_in_the_academys_unit() -> None:
    """A foot is 0.3048 m: 0.5 m are 19.7 inches, 2 m are 6.56 feet."""
    assert [words for words in labels(root(GATE, "right", "m")) if re.search(r"\d", words)] == ["50 cm", "2 m"]
    assert [words for words in labels(root(GATE, "right", "ft")) if re.search(r"\d", words)] == ["20 in", "6.5 ft"]
    for long, metres, feet in (
        (8, "8 cm", "3 in"),
        (150, "1.5 m", "5 ft"),
        (90, "90 cm", "35 in"),
        (1210, "12 m", "40 ft"),
    ):
        row = {"piece": "length", "x": 0, "y": 0, "to_x": long, "to_y": 0}
        wide = drawing(frame=[-10, -100, 1300, 100], pieces=[row, {"piece": "ball", "x": 0, "y": 0}])
        assert (labels(root(wide)), labels(root(wide, units="ft"))) == ([metres], [feet])


def test_it_is_an_image_with_words_and_neither_style_nor_script_nor_ids() -> None:
    """Without ids several drawings may stand on one page."""
    picture = root(GATE)
    assert picture.get("role") == "img" and found(picture, "desc")[0].text == "Seen from above."
    assert not [
        e for e in picture.iter() if {"style", "id", "onload", "href"} & set(e.attrib) or e.tag.endswith("script")
    ]


def test_symbols_have_a_least_size_and_are_to_scale_above_it() -> None:
    """A ball is 42.67 mm wide and a hole 108 mm (Rules of Golf 2023)."""
    far = drawing(frame=[-100, -100, 2900, 100], pieces=[ROW | {"piece": p} for p in ("hole", "ball", "tee", "coin")])
    assert [float(circle.attrib["r"]) >= 3 for circle in found(root(far), "circle")] == [True] * 4
    near = drawing(frame=[-10, -10, 30, 10], pieces=[{"piece": p, "x": 0, "y": 0} for p in ("hole", "ball")])
    hole, ball = (float(circle.attrib["r"]) for circle in found(root(near), "circle"))
    assert hole / ball == pytest.approx(108 / 42.67, rel=0.02)


def test_what_is_small_is_still_seen_for_what_it_is() -> None:
    """A hole on a picture of 30 m is 14 units wide, more than any ball; a spot is a cross of two strokes."""
    far = drawing(frame=[-100, -100, 2900, 100], pieces=[ROW | {"piece": p} for p in ("hole", "ball")])
    hole, ball = (float(circle.attrib["r"]) for circle in found(root(far), "circle"))
    assert (hole, ball) == (7, 4.5)
    spot = root(drawing(pieces=[{"piece": "spot", "x": 100, "y": 0}, *GATE["pieces"][:2]]))
    ends = [numbers(element.attrib["d"]) for element in found(spot, "path", "way")[:2]]
    (left, top, right, bottom), (low_left, low, up_right, high) = ends
    assert (left, right) == (low_left, up_right) and (top, bottom) == (high, low)
    assert right - left == pytest.approx(10) and abs(top - bottom) == pytest.approx(10)


def test_shoes_that_are_hardly_apart_are_one() -> None:
    def shoes(apart: float) -> int:
        description = drawing(pieces=[{"piece": "feet", "x": 0, "y": -20, "size": apart}, *GATE["pieces"][:2]])
        return len(found(root(description), "ellipse"))

    assert [shoes(apart) for apart in (1, ONE_SHOE, ONE_SHOE + 1, 30)] == [1, 1, 2, 2]


def test_a_piece_without_a_height_lies_on_the_line_of_the_ball() -> None:
    assert Piece("ball", {"x": 40.0}).start == (40, 0)


def test_a_measure_line_ends_in_strokes_across_it_on_either_side_alike() -> None:
    numbers = re.compile(r"-?[0-9.]+")
    measure = {"piece": "length", "x": -40, "y": 20, "to_x": 20, "to_y": -10}
    drawn = found(root(drawing(pieces=[*GATE["pieces"][:2], measure])), "path", "soft")
    line, *ends = [[float(found) for found in numbers.findall(path.attrib["d"])] for path in drawn[-3:]]
    for place, (x, y, to_x, to_y) in zip((line[:2], line[2:]), ends, strict=True):
        assert [(x + to_x) / 2, (y + to_y) / 2] == pytest.approx(place, abs=0.11)
        along, down = line[2] - line[0], line[3] - line[1]
        assert ((to_x - x) * along + (to_y - y) * down) / (along**2 + down**2) ** 0.5 == pytest.approx(0, abs=0.3)


@pytest.mark.parametrize("kind", [from_behind, from_the_front])
def test_a_body_keeps_its_trunk_and_leans_from_the_hips(kind: Callable[[Piece], Figure]) -> None:
    """Its trunk is as long upright as bent; from behind the hips go back as the shoulders go forward."""

    def trunk(lean: float) -> tuple[Point, Point]:
        figure = kind(Piece("player", {**PLAYER, "x": 0, "lean": lean}))
        hip, shoulder = max((line for line in figure.lines if len(line) == 2), key=lambda line: line[1][1] - line[0][1])
        return hip, shoulder

    upright, bent, further = trunk(0), trunk(15), trunk(30)
    assert upright[0][0] == upright[1][0] == 0
    assert further[0][0] == pytest.approx(2 * bent[0][0]) and further[1][0] == pytest.approx(2 * bent[1][0])
    if kind is from_behind:
        assert {round(dist(*each), 6) for each in (upright, bent, further)} == {round(dist(*upright), 6)}
        assert bent[0][0] < 0 < bent[1][0]


def test_what_a_hole_takes_is_what_is_drawn_of_it() -> None:
    canvas = Canvas([-10, -10, 50, 40], "face_on", "right")
    draw_hole(canvas, Piece("hole", {"x": 20, "y": 0}))
    [drawn] = found(canvas.root, "rect") or list(canvas.root)
    x, y, wide, high = (float(drawn.attrib[name]) for name in ("x", "y", "width", "height"))
    [taken] = canvas.taken
    assert (taken.left, taken.top, taken.right, taken.bottom) == pytest.approx((x, y, x + wide, y + high), abs=0.1)


def test_the_label_of_a_line_keeps_clear_of_it_whichever_way_it_runs() -> None:
    """Of words as wide as the layout takes them to be: no corner of their box lies on the line or beyond it."""
    for end in ((0.0, 90.0), (90.0, 0.0), (60.0, 60.0), (60.0, -60.0)):
        x, y = next(places_for_length((0.0, 0.0), end, "a label of words"))
        half_wide, half_high = len("a label of words") * LETTER / 2, HALF_HIGH
        sides = {
            (end[0] * (y + down) - end[1] * (x + across)) > 0
            for across in (-half_wide, half_wide)
            for down in (-half_high, half_high)
        }
        assert len(sides) == 1, end


def test_a_label_finds_the_one_free_place_whichever_side_it_is_on() -> None:
    """All is taken but a strip on one side of the place; the label stands in it and hides nothing."""
    for free in (Box(110, 60, 210, 90), Box(110, 130, 210, 160), Box(0, 100, 135, 118), Box(185, 100, 320, 118)):
        canvas = Canvas([-100, -100, 100, 100], "top", "right")
        canvas.take(Box(0, 0, WIDTH, free.top))
        canvas.take(Box(0, free.bottom, WIDTH, canvas.height))
        canvas.take(Box(0, free.top, free.left, free.bottom))
        canvas.take(Box(free.right, free.top, WIDTH, free.bottom))
        others = list(canvas.taken)
        put_label(canvas, "here", places_for_text((160.0, 109.0), "here"))
        assert sum(canvas.taken[-1].overlap(other) for other in others) == 0, free


def numbers(text: str) -> list[float]:
    return [float(number) for number in re.findall(r"-?[\d.]+", text)]


def numbers_of(picture: ET.Element) -> Iterator[tuple[float, float]]:
    """Points of every shape that is not turned, and the middle of every one that is."""
    for element in picture.iter():
        value = {name: float(text) for name, text in element.attrib.items() if re.fullmatch(r"-?[\d.]+", text)}
        if "cx" in value:
            yield value["cx"], value["cy"]
        elif "x" in value and "transform" not in element.attrib:
            yield value["x"], value["y"]
            yield value["x"] + value.get("width", 0), value["y"] + value.get("height", 0)
        elif "d" in element.attrib and "transform" not in element.attrib and "Q" not in element.attrib["d"]:
            places = re.findall(r"(-?[\d.]+) (-?[\d.]+)", element.attrib["d"])
            yield from ((float(x), float(y)) for x, y in places)


def assert_inside(picture: ET.Element) -> None:
    _, _, width, height = map(float, picture.attrib["viewBox"].split())
    assert width == 320 and height <= 320
    for x, y in numbers_of(picture):
        assert 0 <= x <= width and 0 <= y <= height, (x, y)
    for text in found(picture, "text"):
        half = 0.25 * len(text.text or "") * 14
        assert half <= float(text.attrib["x"]) <= width - half, text.text


def every_kind() -> Iterator[dict[str, Any]]:
    """A description with every kind of piece in each of its views, at the corners of the frame."""
    for view in ("top", "face_on", "down_the_line"):
        pieces = []
        for name, kind in KINDS.items():
            if view in kind.views:
                values = PLAYER if name == "player" else {"x": -60, "y": 0, "to_x": 120, "to_y": 170, "size": 30}
                pieces.append({"piece": name} | {key: value for key, value in values.items() if key in kind.needs})
                pieces[-1] |= {"words": "{Trail} hand at the end"} if kind.has_words else {}
        yield of_view(view, *pieces)


def test_every_kind_of_piece_is_drawn_inside_the_picture_for_both_sides() -> None:
    for description in every_kind():
        assert check(description) == []
        for side in ("right", "left"):
            assert_inside(root(description, side))
        whole = draw(description, "right", "m")
        for index, piece in enumerate(description["pieces"][2:], 2):
            rest = [*description["pieces"][:index], *description["pieces"][index + 1 :]]
            assert draw({**description, "pieces": rest}, "right", "m") != whole, piece


def test_a_label_does_not_stand_on_a_symbol_where_there_is_room() -> None:
    text = next(element for element in found(root(GATE), "text") if element.text == "left foot")
    hole = found(root(GATE), "circle", "solid")[0]
    down = abs(float(text.attrib["y"]) - 4 - float(hole.attrib["cy"]))
    across = abs(float(text.attrib["x"]) - float(hole.attrib["cx"]))
    assert down > 12 or across > 35


def test_a_curve_bends_away_from_the_player() -> None:
    """As far aside, at its middle, as its description says: 20 cm of a frame 320 cm wide are 17.75 units."""
    roll = {"piece": "roll", "x": 0, "y": 0, "to_x": 200, "to_y": 0}
    ways = []
    for bend in (0, 20):
        curve = found(root(drawing(pieces=[{**roll, "bend": bend}, *GATE["pieces"][:2]])), "path", "way")[0].attrib["d"]
        ways.append([float(number) for number in re.findall(r"-?[\d.]+", curve)])
    straight, bent = ways
    assert (straight[3] - bent[3]) / 2 == pytest.approx(20 * (320 - 36) / 320, abs=0.2)


# --- On the page of a drill ---------------------------------------------------------------------


@pytest.mark.one_database
def test_a_drill_s_page_draws_it_for_the_reader(cast: Cast, as_: Callable[[str], Client]) -> None:
    """A student sees their own side, a coach the side that they choose, both in the academy's unit."""
    drill = make_drill("gate", drawing=GATE)
    Student.objects.filter(pk=cast.student.pk).update(putting_side="left")
    page = as_("student").get(reverse("drill", args=["gate"])).content.decode()
    assert str(draw(GATE, "left", "m")) in page
    Academy.objects.update(units="ft")
    for side in ("right", "left"):
        assert (
            str(draw(GATE, side, "ft"))
            in as_("coach").get(reverse("drill", args=["gate"]) + f"?side={side}").content.decode()
        )
    Drill.objects.filter(pk=drill.pk).update(drawing={})
    assert "<svg" not in as_("coach").get(reverse("drill", args=["gate"])).content.decode()


# --- What is wrong ------------------------------------------------------------------------------

LAST = len(GATE["pieces"])
WRONG = [
    (drawing(view="sideways"), (None, "view")),
    (drawing(view=["top"]), (None, "view")),
    (drawing(frame=[0, 0, 0, 0]), (None, "frame")),
    (drawing(frame=[0, 0, -50, 100]), (None, "frame")),
    (drawing(frame=[-60, -70, 260]), (None, "frame")),
    (drawing(frame=[-60, -70, float("nan"), 60]), (None, "frame")),
    (drawing(frame=[-60, -70, "260", 60]), (None, "frame")),
    (drawing(frame=[-4000, -4000, 4000, 4000]), (None, "frame")),
    (drawing(words=" "), (None, "words")),
    (drawing(words="Two {tees}"), (None, "words")),
    (drawing(words="a\nb"), (None, "words")),
    (drawing(words="a" * 401), (None, "words")),
    (drawing(pieces=[ROW]), (None, "pieces")),
    (drawing(pieces=[ROW] * 26), (None, "pieces")),
    (drawing(pieces="ball"), (None, "pieces")),
    (drawing(colour="red"), (None, "colour")),
    (with_piece(piece="bal", x=0, y=0), (LAST, "piece")),
    (with_piece(x=0, y=0), (LAST, "piece")),
    (with_piece(piece=["ball"], x=0, y=0), (LAST, "piece")),
    (with_piece(piece="ball", x=0), (LAST, "y")),
    (with_piece(piece="ball", x="0", y=0), (LAST, "x")),
    (with_piece(piece="ball", x=True, y=0), (LAST, "x")),
    (with_piece(piece="ball", x=float("nan"), y=0), (LAST, "x")),
    (with_piece(piece="ball", x=float("-inf"), y=0), (LAST, "x")),
    (with_piece(piece="ball", x=10**400, y=0), (LAST, "x")),
    (with_piece(piece="ball", x=261, y=0), (LAST, "x")),
    (with_piece(piece="ball", x=0, y=-71), (LAST, "y")),
    (with_piece(piece="ball", x=0, y=0, to_x=3), (LAST, "to_x")),
    (with_piece(piece="line", x=0, y=0, to_x=300, to_y=0), (LAST, "to_x")),
    (with_piece(piece="line", x=0, y=0, to_x=0, to_y=0), (LAST, "to_x")),
    (with_piece(piece="feet", x=0, y=-45, size=-3), (LAST, "size")),
    (with_piece(piece="feet", x=-55, y=-45, size=35), (LAST, "size")),
    (with_piece(piece="player", **PLAYER), (LAST, "piece")),
    (with_piece(piece="text", x=0, y=0, words="a" * 25), (LAST, "words")),
    (with_piece(piece="text", x=0, y=0, words="{closed} and then {closed}"), (LAST, "words")),
    (with_piece(piece="text", x=0, y=0, words=3), (LAST, "words")),
    (with_piece(piece="text", x=0, y=0, words="\x00"), (LAST, "words")),
    (of_view("face_on", {"piece": "feet", "x": 0, "y": 0, "size": 30}), (2, "piece")),
    (of_view("face_on", {"piece": "player", **PLAYER, "head_x": 300}), (2, "head_x")),
    ({**of_view("face_on", {"piece": "player", **PLAYER}), "frame": [-110, -10, 120, 120]}, (2, "x")),
]


def test_the_right_one_has_no_problem() -> None:
    assert check(GATE) == []


def test_every_problem_is_said_beside_its_field_and_alone() -> None:
    for description, field in WRONG:
        assert fields(description) == {field}, description
        assert all(problem.message.endswith(".") for problem in check(description))
        assert draw(description, "right", "m") == ""


def test_a_number_may_be_as_large_as_is_said_and_no_larger() -> None:
    """What is typed one further is refused, and the message names both ends."""
    ends = {
        "turn": (OPEN_CLUB, -180, 180),
        "size": ({"piece": "feet", "x": 0, "y": 0}, 1, 200),
        "knee": ({"piece": "player", **PLAYER}, -30, 30),
        "lean": ({"piece": "player", **PLAYER}, -60, 60),
        "bend": ({"piece": "roll", "x": 0, "y": 0, "to_x": 40, "to_y": 0}, -500, 500),
    }
    for name, (piece, low, high) in ends.items():
        words = f"Write a number between {low} and {high}."
        for value, is_refused in ((low, False), (high, False), (low - 1, True), (high + 1, True)):
            problems = check(with_piece(**{**piece, name: value}))
            assert (words in [problem.message for problem in problems if problem.field == name]) is is_refused, name


def test_no_value_makes_it_fail() -> None:
    """Whatever JSON may hold is refused, each time with a message."""
    values = [None, True, 0, -1, 1e308, float("inf"), "", "\ud800", [], [[]], {}, {"piece": {}}, [None] * 30]
    keys = ["view", "frame", "words", "pieces"]
    for value in values:
        assert check(value) and draw(value, "left", "ft") == ""
        for key in keys:
            assert check(drawing(**{key: value}))
        assert check(drawing(pieces=[value, value])) and check({"pieces": [value]})
        for name in ("piece", "x", "words", "to_y"):
            assert check(with_piece(**{"piece": "text", "x": 0, "y": 0, "words": "a", name: value})) or value in (0, -1)


def test_what_a_person_typed_is_never_markup() -> None:
    hostile = "</title><script>\"&'{x"
    picture = draw(with_piece(piece="text", x=0, y=0, words=hostile) | {"words": hostile}, "right", "m")
    assert "<script" not in picture and labels(ET.fromstring(picture))[-1] == hostile
    assert found(ET.fromstring(picture), "title")[0].text == hostile


# --- The drawings that ship ---------------------------------------------------------------------


def test_every_shipped_drill_has_a_drawing_that_can_be_drawn() -> None:
    without = [code for code, row in SHIPPED.items() if "drawing" not in row]
    assert without == []
    wrong = {code: found for code, row in SHIPPED.items() if (found := check(row["drawing"]))}
    assert wrong == {}
    for row in SHIPPED.values():
        words = " ".join(piece.get("words", "") for piece in row["drawing"]["pieces"])
        assert not re.search(r"\d\s?(c?m|mm|metres?|steps?|ft|feet|in|inch(es)?)\b", words), row["code"]
        for side in ("right", "left"):
            picture = root(row["drawing"], side, "ft")
            assert_inside(picture)
            assert not re.search(r"\d c?m\b", " ".join(labels(picture))), row["code"]
