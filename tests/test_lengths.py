"""Lengths in words, and plans in a URL.

Foot, inch and yard: the international yard and pound agreement of 1959 (0.3048 m, 25.4 mm, 0.9144 m). A step of 0.9 m
and how roundly people say a length: common practice, no source.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.putting.lengths import format_length, format_lengths, format_number, format_steps, likely_unit
from drills.scored_tests.stations import Plan, Station, choose_plan, even_plan, parse_plan


@pytest.mark.parametrize(
    ("length_m", "unit", "words"),
    [
        (6.0, "m", "6 m"),
        (1.5, "m", "1.5 m"),
        (12.25, "m", "12.25 m"),
        (0.08, "m", "8 cm"),
        (0.4572, "m", "46 cm"),
        (20 * 0.3048, "m", "6 m"),
        (20 * 0.3048, "ft", "20 ft"),
        (12.5 * 0.3048, "ft", "12.5 ft"),
        (6.0, "ft", "20 ft"),
        (1.0, "ft", "3.3 ft"),
        (0.0762, "ft", "3 in"),
        (10 * 0.9144, "yd", "10 yd"),
        (60.0, "ft", "197 ft"),
    ],
)
def test_a_length_is_read_as_one_would_say_it(length_m: float, unit: str, words: str) -> None:
    assert format_length(length_m, unit) == words


def test_a_list_names_its_unit_once() -> None:
    assert format_lengths([3, 1, 2, 1.5], "m") == "1, 1.5, 2 and 3 m"
    assert format_lengths([6.0], "ft") == "20 ft"


@pytest.mark.parametrize(("length_m", "words"), [(6, "7 steps"), (10, "11 steps"), (1, "1 step"), (0.1, "1 step")])
def test_steps_are_whole(length_m: float, words: str) -> None:
    assert format_steps(length_m) == words


@given(st.floats(0.05, 60))
def test_what_is_rounded_stays_within_a_fiftieth(value: float) -> None:
    assert abs(float(format_number(value)) - value) <= 0.0201 * value + 0.005


@given(st.integers(5, 1999))
def test_what_was_typed_to_the_centimetre_is_read_again_as_typed(centimetres: int) -> None:
    assert float(format_number(centimetres / 100)) == centimetres / 100


@pytest.mark.parametrize(
    ("length", "unit", "usual_m", "other"),
    [
        (6, "ft", [6.0], "m"),
        (20, "m", [6.0], "ft"),
        (3, "ft", [3.0, 6.0, 9.0, 12.0], "m"),
        (8, "in", [0.08], "cm"),
        (20, "ft", [6.0], None),
        (6, "m", [6.0], None),
        (3, "ft", [1.0, 1.5, 2.0, 3.0], None),
        (7, "step", [6.0], None),
        (12, "m", [6.0], None),
    ],
)
def test_a_length_that_fits_only_in_another_unit_is_asked_about(
    length: float, unit: str, usual_m: list[float], other: str | None
) -> None:
    assert likely_unit(length, unit, usual_m) == other


# --- Stations -----------------------------------------------------------------------------------


class Hit:
    def __init__(self, number: int, distance_m: float) -> None:
        self.number, self.distance_m = number, distance_m


def test_a_plan_says_from_where_each_ball_is_hit() -> None:
    plan = even_plan([1.0, 1.5], 10)
    assert plan.total == 20 and plan.word == "1x10,1.5x10"
    assert [plan.distance_at(number) for number in (1, 10, 11, 20)] == [1.0, 1.0, 1.5, 1.5]
    for number in (0, 21):
        with pytest.raises(ValueError):
            plan.distance_at(number)


@given(st.lists(st.tuples(st.floats(0.1, 60), st.integers(1, 100)), min_size=1, max_size=12))
def test_a_plan_comes_back_from_its_address(stations: list[tuple[float, int]]) -> None:
    plan = Plan(tuple(Station(round(distance, 4), balls) for distance, balls in stations))
    assert parse_plan(plan.word) == plan


@pytest.mark.parametrize(
    "word", ["", "x", "6", "6x", "0x5", "61x5", "6x0", "6x101", "-6x5", "6x5,", "nanx5", "1x1," * 12]
)
def test_an_address_that_holds_no_plan(word: str) -> None:
    assert parse_plan(word) is None


def test_a_plan_that_the_balls_so_far_do_not_fit_is_left_for_one_that_goes_on_from_the_last() -> None:
    usual = even_plan([6.0], 20)
    assert choose_plan("3x5", usual, []).word == "3x5"
    assert choose_plan("", usual, [Hit(1, 6.0)]) == usual
    onward = choose_plan("6x20", usual, [Hit(1, 3.0), Hit(2, 4.0)])
    assert not onward.has_end and onward.word == ""
    assert [onward.distance_at(number) for number in (1, 2, 3, 40)] == [3.0, 4.0, 4.0, 4.0]
