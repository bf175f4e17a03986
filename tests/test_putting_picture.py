"""The picture of leaves: every dot on its own line, clear of the line's label, and within the picture."""

import re
from itertools import pairwise

import pytest

from drills.putting.picture import DOT, WIDTH, LeaveGroup, leaves_picture

LABEL = 15  # the height of a line's label, from its top to below its letters
GROUPS = [
    LeaveGroup("2 m", (-0.4, 0.0, 0.0, 0.0, 0.5), holed=5),
    LeaveGroup("6 m", (-1.8, -0.9, -0.9, 1.2), holed=1),
    LeaveGroup("9 m", (-0.3,), holed=0),
]


@pytest.mark.parametrize("unit", ["m", "ft"])
@pytest.mark.parametrize("signed", [True, False])
def test_every_dot_stands_on_its_line_below_the_label(unit: str, signed: bool) -> None:
    shown = leaves_picture(GROUPS, unit, signed=signed)
    assert [len(strip.dots) for strip in shown.strips] == [5, 4, 1]
    for strip in shown.strips:
        for _, y in strip.dots:
            assert strip.top + LABEL <= y - DOT and y + DOT < strip.y
    for above, below in pairwise(shown.strips):
        assert above.y <= below.top
    assert shown.strips[-1].y <= shown.bottom < shown.height


def test_equal_leaves_stand_one_on_another_and_do_not_touch() -> None:
    [strip] = leaves_picture(GROUPS[:1], "m", signed=True).strips
    stack = sorted(y for x, y in strip.dots if x == leaves_picture(GROUPS, "m", signed=True).hole)
    assert len(stack) == 3 and all(below - above >= 2 * DOT for above, below in pairwise(stack))


def test_short_is_left_of_the_hole_and_past_it_right() -> None:
    shown = leaves_picture(GROUPS, "m", signed=True)
    assert DOT <= min(x for strip in shown.strips for x, _ in strip.dots) < shown.hole
    assert shown.hole < max(x for strip in shown.strips for x, _ in strip.dots) <= WIDTH - DOT
    assert [(strip.short, strip.past) for strip in shown.strips] == [(1, 4), (3, 1), (1, 0)]


def test_the_axis_counts_from_the_hole_and_is_readable() -> None:
    for unit in ("m", "ft"):
        shown = leaves_picture(GROUPS, unit, signed=True)
        at_hole = [tick for tick in shown.across if tick.at == shown.hole]
        assert [tick.label for tick in at_hole] == ["0"]
        assert 3 <= len(shown.across) <= 9


def test_every_metre_has_its_number_where_there_are_few() -> None:
    near = leaves_picture([LeaveGroup("2 m", (0.0, 0.4), holed=1)], "m", signed=False)
    assert [tick.label for tick in near.across] == ["0", "1"]
    wide = leaves_picture([LeaveGroup("9 m", (-4.0, 4.0), holed=1)], "m", signed=True)
    assert [tick.label for tick in wide.across] == ["4", "3", "2", "1", "0", "1", "2", "3", "4"]


def test_a_picture_without_leaves_is_refused() -> None:
    with pytest.raises(ValueError):
        leaves_picture([], "m", signed=True)


def test_every_dot_is_a_circle_of_one_path() -> None:
    """An SVG path: each circle is two half circles, from its left to its right and back."""
    for strip in leaves_picture(GROUPS, "m", signed=True).strips:
        found = re.findall(r"M([\d.]+) ([\d.]+)a([\d.]+) \3 0 1 0 ([\d.]+) 0a\3 \3 0 1 0 -\4 0", strip.outline)
        assert [(float(x) + float(r), float(y)) for x, y, r, _ in found] == [pytest.approx(dot) for dot in strip.dots]
        assert all(float(across) == 2 * float(r) == 2 * DOT for *_, r, across in found)
