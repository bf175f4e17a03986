"""What the page of results says of putters as they are: biased, misreading, on a ladder, with wild balls.

Students are simulated with a fixed seed, and judged by the words that a coach reads, not by the numbers behind them.
"""

from collections.abc import Callable, Sequence
from functools import cache
from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.stats import norm, t

from drills.putting import coach_text, predictions, student_text
from drills.putting.coach_text import ResultLine
from drills.putting.hole import gate_error_deg
from drills.putting.observations import Gated, Observation
from drills.putting.predictions import PutterEstimate
from drills.putting.putts import gains_near
from drills.putting.scenarios import Draw, Player, normal, one_wild_in_ten, t3
from drills.putting.unit_formatter import UnitFormatter
from drills.scored_tests.results.calibration import putter_rows
from drills.scored_tests.results.estimates import PuttingResult, gain_of, result_of

METRES = UnitFormatter("m", "right")
Test = Callable[[Player], list[Observation]]


@cache
def results(number: int, line: float, pace: float, test: Test, **life: Any) -> list[PuttingResult]:
    """What so many students of one kind are told."""
    rng = np.random.default_rng(14)
    return [result_of(test(Player(rng, line, pace, **life))) for _ in range(number)]


def estimate(result: PuttingResult) -> PutterEstimate:
    assert result.estimate is not None
    return result.estimate


def share(said: Sequence[bool]) -> float:
    return sum(said) / len(said)


def named(result: PuttingResult, name: str) -> ResultLine | None:
    """The line of this name under start line and pace."""
    lines = coach_text.start_line_and_pace(estimate(result), METRES, includes_misreads=True)
    return next((line for line in lines if line.name == name), None)


def near_hole(result: PuttingResult) -> str:
    """What is said to be worth most near the hole."""
    assert result.posterior is not None
    near = dict(zip(predictions.ERROR_KINDS, gains_near(result.posterior.draws), strict=True))
    return coach_text.worth_most(predictions.compare_gains(near))


# --- What is worth most -------------------------------------------------------------------------


def test_a_putter_who_leaves_them_short_is_told_of_the_length() -> None:
    """1.5 degrees, 8 %, 10 % short: without the shortness 1.1 more of ten, with a fifth less spread of the start line
    0.6. Of every ten pages at most one may lead with the start line, and with 140 putts half lead with the length."""
    few = [near_hole(each) for each in results(20, 1.5, 0.08, Player.all_three, long=-0.1)]
    many = [near_hole(each) for each in results(20, 1.5, 0.08, Player.all_twice, long=-0.1)]
    for said in (few, many):
        assert share(["start line is worth most" in each and "Cannot" not in each for each in said]) <= 0.1
    assert share([each.startswith("The bias of the length is worth most") for each in many]) >= 0.5
    assert share(["length" in each for each in few]) >= 0.8


def test_a_steady_putter_with_a_wild_line_is_told_of_the_line() -> None:
    said = [near_hole(each) for each in results(40, 1.5, 0.08, Player.all_three)[:20]]
    assert share([each.startswith("The spread of the start line is worth most") for each in said]) >= 0.8


def test_a_putter_who_pulls_is_told_of_the_side() -> None:
    """1.2 degrees to one side cost 2.3 of ten putts, and a fifth of a spread of one degree next to nothing."""
    said = [near_hole(each) for each in results(15, 1.0, 0.08, Player.all_three, push=-1.2)]
    assert share([each.startswith("The bias to one side is worth most") for each in said]) >= 0.8


# --- The aim ------------------------------------------------------------------------------------


@pytest.mark.parametrize("test", [Player.ladder, Player.zones], ids=["line", "zone"])
def test_a_perfect_ladder_is_neither_short_nor_long(test: Test) -> None:
    """At a line the aim is the line, in a zone its middle; one in twenty may seem biased by chance, of 100 within three
    standard errors."""

    least = 0.95 - 3 * (0.95 * 0.05 / 100) ** 0.5
    said = [named(each, "Short or long") for each in results(100, 1.5, 0.06, test)]
    assert share([line is not None and "Neither is clear" in line.text for line in said]) >= least


def test_a_short_ladder_is_short() -> None:
    said = [named(each, "Short or long") for each in results(15, 1.5, 0.06, Player.ladder, long=-0.08)]
    assert share([line is not None and line.text.startswith("Short by") for line in said]) >= 0.9


# --- Read and aim -------------------------------------------------------------------------------


def misreading() -> list[PuttingResult]:
    return results(40, 0.8, 0.08, Player.all_three, read=1.5)


def test_a_misread_is_not_the_stroke() -> None:
    """A stroke of 0.8 degrees with reads off by 1.5: the start line is that of the stroke, in 93 of 100 less three
    standard errors, the line at the hole 1.7 degrees, and read or aim is named."""
    strokes, holes = (
        [(each.line if at == "stroke" else each.at_hole and each.at_hole.line) for each in map(estimate, misreading())]
        for at in ("stroke", "hole")
    )
    least = 0.93 - 3 * (0.93 * 0.07 / 40) ** 0.5
    assert share([bool(each and each.low <= 0.8 <= each.high) for each in strokes]) >= least
    assert share([bool(each and each.low <= 1.7 <= each.high) for each in holes]) >= least
    said = [named(each, "Line at the hole") for each in misreading()]
    wider = [each for each in misreading() if (at_hole := estimate(each).at_hole) and at_hole.is_wider]
    leading = [coach_text.gains(gain, METRES)[0].text for each in wider if (gain := gain_of(each))]
    assert leading and not any("start line" in words for words in leading)
    assert any("read or aim" in words for words in leading)
    assert share([line is not None and coach_text.READ in line.note for line in said]) >= 0.65


def test_a_good_reader_is_not_told_of_a_misread() -> None:
    said = [named(each, "Line at the hole") for each in results(40, 1.5, 0.08, Player.all_three)]
    assert (
        share([line is not None and line.note in (coach_text.AGREES, coach_text.READ_NOT_KNOWN) for line in said])
        >= 0.88
    )


def test_an_aim_to_one_side_is_told_with_its_side() -> None:
    """Straight through the gate, two degrees to the right of the hole."""
    found = results(15, 0.8, 0.08, Player.all_three, shift=2.0)
    said = [named(each, "Line at the hole") for each in found]
    advice = [student_text.advice(estimate(each), METRES) for each in found]
    assert share(["Start your putts a little further to the left." in each for each in advice]) >= 0.9
    assert share([line is not None and "to the right of the stroke" in line.note for line in said]) >= 0.9


# --- Wild balls ---------------------------------------------------------------------------------

TWO_THIRDS = norm.cdf(1)  # of a normal: the quantile that ends its two thirds
WIDTHS = {
    t3: t(3).ppf(TWO_THIRDS),
    one_wild_in_ten: brentq(lambda z: 0.9 * norm.cdf(z) + 0.1 * norm.cdf(z / 3) - TWO_THIRDS, 0.5, 3),
    normal: 1.0,
}


@pytest.mark.parametrize("draw", WIDTHS, ids=lambda draw: draw.__name__)
def test_two_of_three_stop_within_what_is_said(draw: Draw) -> None:
    """The width that holds two of three balls, whatever the tails; a normal likelihood makes it 13 to 22 % too wide."""
    found = [estimate(each).pace for each in results(40, 1.5, 0.1, Player.pace_alone, draw=draw)]
    ratios = np.array([each.middle for each in found if each]) / (0.1 * WIDTHS[draw])
    assert np.median(ratios) == pytest.approx(1.0, abs=0.08)
    assert share([bool(each and each.low <= 0.1 * WIDTHS[draw] <= each.high) for each in found]) >= 0.8


# --- The check of the model ---------------------------------------------------------------------


@pytest.mark.parametrize("test", [Player.all_three, Player.ladder], ids=["all three", "ladder"])
def test_good_putters_are_seldom_told_that_the_model_is_poor(test: Test) -> None:
    """One in twenty; within three standard errors of 50."""
    said = [not estimate(each).fits_model for each in results(50, 0.7, 0.05, test)]
    assert share(said) <= 0.05 + 3 * (0.05 * 0.95 / 50) ** 0.5


# --- The players --------------------------------------------------------------------------------


def test_players_roll_as_they_are_said_to() -> None:
    """Twenty thousand balls at a hole three metres away, on a line and through a gate, within four standard errors."""
    rng, number = np.random.default_rng(5), 20_000
    player = Player(rng, 1.2, 0.1, push=0.3, long=-0.05, read=0.5, shift=0.4)
    lines, stops, dropped = player.putts(3.0, number)
    assert lines.mean() == pytest.approx(0.7, abs=4 * 1.3 / number**0.5) and lines.std() == pytest.approx(1.3, rel=0.02)
    assert stops.mean() == pytest.approx(0.95 * 3.3048 - 3, abs=4 * 0.33 / number**0.5)
    started = norm.cdf(0.6238, 0.7, 1.3) - norm.cdf(-0.6238, 0.7, 1.3)  # asin((0.10795 - 0.04267) / 2 / 3), in degrees
    rolled = norm.cdf(0.9144, 0.1396, 0.3305) - norm.cdf(0, 0.1396, 0.3305)
    assert dropped.mean() == pytest.approx(started * rolled, abs=0.015)
    [gate] = player.gate(number)
    assert isinstance(gate, Gated)
    assert gate.push / number == pytest.approx(norm.sf(gate_error_deg(1.0, 0.08), 0.3, 1.2), abs=0.015)


def test_the_table_of_players_has_a_mark_for_each_row() -> None:
    table = list(putter_rows(4))
    assert len(table) >= 18
    assert all(row.name and 0 <= row.value < 3 and row.mark for row in table)
    for word in ("length leads", "to a line", "misreads", "one wild in ten", "poorly described"):
        assert any(word in row.name for row in table)
