"""Whose putts a figure stands for, what it is measured from, and what is not noted because nothing missed."""

import re
from collections.abc import Callable

import numpy as np
import pytest
from django.test import Client

from drills.putting import assumptions, coach_text
from drills.putting.model import holed
from drills.putting.published import CLUB_PLAYERS, ERRORS, PROFESSIONALS, Errors, Published
from drills.putting.unit_formatter import UnitFormatter
from tests.conftest import Cast
from tests.test_putting_results import Putting, all_three, chips, designs, scored
from tests.test_putting_text import CHIPPING, FEET, KNOWN, METRES, words
from tests.test_results_page import alone, page_of, text_of

__all__ = ["designs"]
pytestmark = pytest.mark.one_database
Clients = Callable[[str], Client]


def test_two_of_three_lie_around_their_average_and_not_around_what_was_meant() -> None:
    """A standard deviation is taken from the mean: a player who is 5 % short stops there, and not at the hole."""
    text = words(coach_text.start_line_and_pace(KNOWN, METRES, includes_misreads=True))
    assert "Two putts of three stop within 12% of their average length" in text
    assert "of the intended length:" not in text


def test_twenty_through_the_gate_are_not_called_not_noted(cast: Cast, as_: Clients) -> None:
    test = scored(cast.student, "putting-gate", [{"result": "through"}] * 20)
    text = text_of(alone(as_("coach"), test))
    assert "Right or left No ball missed, so neither side shows." in text and "Not noted" not in text


def test_twenty_holed_are_neither_short_nor_not_noted(cast: Cast, as_: Clients) -> None:
    scored(cast.student, "putting-gate", Putting(1.5, 0.1).gated())
    scored(cast.student, "putting-counted", [{"result": "holed", "distance_m": 2.0}] * 20)
    assert "Short or long No putt missed, so neither shows." in text_of(page_of(as_("coach"), cast))


def test_a_side_that_nobody_noted_is_not_noted(cast: Cast, as_: Clients) -> None:
    test = scored(cast.student, "putting-gate", [{"result": "through"}] * 15 + [{"result": "beside"}] * 5)
    assert "Right or left Not noted." in text_of(alone(as_("coach"), test))


def test_every_figure_after_a_published_putt_says_whose_it_is() -> None:
    """Each may be read alone: up and down, the strokes, and what is worth more."""
    _, *after = coach_text.chip_lines(CHIPPING, 1, "chip", False, METRES)
    assert len(after) == 3
    for line in after:
        assert "players who need about 90 strokes" in line.text + line.note
    for line in coach_text.chip_lines(CHIPPING, 1, "chip", True, METRES)[1:]:
        assert "this student’s own putts" in line.text + line.note


def test_the_intervals_after_published_putts_say_whose_they_are(cast: Cast, as_: Clients) -> None:
    scored(cast.student, "chipping-proximity", chips(*[1.0, 2.0, 3.0] * 6))
    text = text_of(page_of(as_("coach"), cast))
    behind = text.split("95% interval")[-1]
    for name in ("Up and down", "Strokes to hole out"):
        by = "with a published average for players who need about 90 strokes"
        assert re.search(rf"{name} \S+ to \S+, {by}", behind), name


@pytest.mark.parametrize("errors, published", list(zip(ERRORS, (PROFESSIONALS, CLUB_PLAYERS), strict=True)))
@pytest.mark.parametrize("units", [METRES, FEET])
def test_published_errors_stand_beside_what_they_make_of_a_putt(
    errors: Errors, published: Published, units: UnitFormatter
) -> None:
    """The errors of the weaker group make more of 8 ft than the 27 of 100 that are printed, and the page says which."""
    theta = np.array([[np.log(errors.line_deg), 0.0, np.log(errors.pace), 0.0]])
    made = float(holed(theta, np.array([8 * 0.3048]))[0, 0])
    text = assumptions.published_curve(errors, published, units)
    assert f"{100 * made:.0f}%" in text and f"{published.percent_by_feet[8]}%" in text
    assert ("8 ft" if units is FEET else "2.4 m") in text


def test_the_table_of_errors_says_that_the_picture_shows_what_is_printed(cast: Cast, as_: Clients) -> None:
    all_three(cast.student, Putting(1.5, 0.12))
    text = text_of(page_of(as_("coach"), cast))
    assert "The picture shows the printed putts" in text and "27%" in text
