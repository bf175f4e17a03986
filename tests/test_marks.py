"""Marks of 7 of 10: offered where the student meets them 7 times in 10, by what was counted and nothing else."""

import re
from collections.abc import Callable

import numpy as np
import pytest
from django.test import Client
from scipy.special import ndtr
from scipy.stats import beta, norm

from drills.putting import student_text
from drills.putting.challenge import gate_for_share
from drills.putting.chips import leave_for_share
from drills.putting.hole import gate_error_deg
from drills.putting.model import Array, holed
from drills.putting.observations import Counted, Gated
from drills.putting.unit_formatter import UnitFormatter
from drills.scored_tests.results.estimates import challenge_of, result_of, success_targets
from tests.conftest import Cast
from tests.test_putting_results import Putting, chips, designs, scored, today
from tests.test_results_page import page_of, text_of

__all__ = ["designs"]
pytestmark = pytest.mark.one_database
Clients = Callable[[str], Client]
METRES = UnitFormatter("m", "right")


def width_in(words: list[str]) -> float:
    [gate] = [found for each in words if (found := re.search(r"7 of 10 through a gate ([\d.]+) cm wide", each))]
    return float(gate[1]) / 100


# --- Gates --------------------------------------------------------------------------------------


def test_a_gate_that_was_passed_by_17_of_20_is_followed_by_a_narrower_one(cast: Cast) -> None:
    """Whatever was misread at holes: 17 of 20 through 8 cm are more than 7 of 10."""
    stroke = [{"result": "through"}] * 17 + [{"result": "beside", "miss": "push"}] * 2
    scored(cast.student, "putting-gate", [*stroke, {"result": "beside", "miss": "pull"}])
    misread = Putting(1.9, 0.08, seed=4)
    scored(cast.student, "putting-counted", misread.counted())
    scored(cast.student, "putting-leaves", misread.leaves())
    assert 0.06 <= width_in(success_targets(cast.student, today())) < 0.08


@pytest.mark.parametrize("passed", range(4, 21, 4))
def test_a_gate_is_offered_by_the_exact_share(passed: int) -> None:
    """One gate of 20 balls: the median of Jeffreys' beta distribution, carried over to the wanted share.

    Brown, Cai & DasGupta (2001), Stat. Sci. 16, 101-133: the interval of Jeffreys' prior.
    """
    share = beta.ppf(0.5, passed + 0.5, 20 - passed + 0.5)
    error = gate_error_deg(1.0, 0.08) * norm.ppf(0.85) / norm.ppf((1 + share) / 2)
    found = gate_for_share([Gated(1.0, 0.08, passed, beside=20 - passed)], 1.0, 0.7)
    assert gate_error_deg(1.0, found) == pytest.approx(error, rel=0.01)


@pytest.mark.parametrize("line", [0.7, 1.0, 1.5, 2.5])
def test_a_gate_is_passed_by_seven_of_ten(line: float) -> None:
    """The width that is said, to half a centimetre, over many students of one stroke: 70 of 100 within 5."""
    rng, error = np.random.default_rng(2), gate_error_deg(1.0, 0.08)
    passed = rng.binomial(20, 2 * ndtr(error / line) - 1, 300)
    widths = [gate_for_share([Gated(1.0, 0.08, int(number), beside=20 - int(number))], 1.0, 0.7) for number in passed]
    said = [float(METRES.gate_width(width).removesuffix(" cm")) / 100 for width in widths]
    shares = [2 * ndtr(gate_error_deg(1.0, width) / line) - 1 for width in said]
    assert np.mean(shares) == pytest.approx(0.7, abs=0.05)


def test_a_gate_is_offered_to_those_who_putted_through_one(cast: Cast) -> None:
    """Putts at a hole show read and stroke in one: they set no gate."""
    scored(cast.student, "putting-counted", Putting(1.5, 0.1).counted(each=20))
    [only] = success_targets(cast.student, today())
    assert "holed from" in only


def test_a_stroke_that_is_off_to_one_side_widens_no_gate(cast: Cast) -> None:
    """A gate of 7 of 10 for a stroke of 0.7 degrees that pulls by 1.2: most of the error is the pull."""
    for days_ago in (1, 0):
        scored(cast.student, "putting-gate", Putting(0.7, 0.1, push=-1.2).gated(), days_ago=days_ago)
    error = gate_error_deg(1.0, width_in(success_targets(cast.student, today())))
    assert ndtr((error + 1.2) / 0.7) - ndtr((-error + 1.2) / 0.7) == pytest.approx(0.7, abs=0.12)


# --- Putts to hole ------------------------------------------------------------------------------


@pytest.mark.parametrize("line, pace, long", [(1.0, 0.08, 0.0), (1.5, 0.12, 0.0), (1.5, 0.08, -0.1)])
def test_putts_are_holed_seven_times_in_ten_from_where_it_is_said(line: float, pace: float, long: float) -> None:
    """The distance that is said, over many students of one putting who took 40 counted putts: 70 of 100 within 5."""
    theta, shares = np.array([[np.log(line), 0.0, np.log(pace), long]]), []
    for seed in range(40):
        putting = Putting(line, pace, long=long, seed=seed)
        found = challenge_of(result_of([counted(putting, distance) for distance in (1.0, 1.5, 2.0, 3.0)]), 0.7)
        if found and found.distance_m:
            said = float(METRES.length(found.distance_m.middle).removesuffix(" m"))
            shares.append(float(holed(theta, np.array([said]))[0, 0]))
    assert len(shares) >= 35 and np.mean(shares) == pytest.approx(0.7, abs=0.05)


def counted(putting: Putting, distance: float) -> Counted:
    """Ten putts from a distance."""
    balls = [putting.at_hole(distance) for _ in range(10)]
    missed = [ball for ball in balls if ball["result"] == "missed"]
    push = sum(ball["miss"] == "push" for ball in missed)
    short = sum(ball["length"] == "short" for ball in missed)
    return Counted(distance, 10, 10 - len(missed), short, push, len(missed) - push)


# --- Chips --------------------------------------------------------------------------------------


@pytest.mark.parametrize("step", [0.9, 0.5])
@pytest.mark.parametrize("spread", [1.0, 2.0])
def test_chips_stop_within_their_mark_seven_times_in_ten(step: float, spread: float) -> None:
    """Ten chips, paced off to whole steps; the mark is the length that is said."""
    rng, shares = np.random.default_rng(6), []
    for _ in range(300):
        leaves = thrown(rng, spread, 10)
        mark = leave_for_share(np.round(leaves / step) * step, np.full(10, step), 0.7)
        said = student_text.chip_target(mark, 0.7, METRES, is_child=False)
        [metres] = re.findall(r"^7 of 10 chips stop within ([\d.]+) m", said)
        shares.append((thrown(rng, spread, 400) <= float(metres)).mean())
    assert np.mean(shares) == pytest.approx(0.7, abs=0.04)


def thrown(rng: np.random.Generator, spread: float, balls: int) -> Array:
    """How far from the hole chips stop that scatter as much along as across."""
    return np.hypot(*rng.normal(0, spread, (2, balls)))


def test_a_mark_lies_between_the_steps_that_were_paced_off(cast: Cast, as_: Clients) -> None:
    """Of 20 chips 10 were one step away and 7 two, from 1.35 to 2.25 m: 14.7 of 21 lie 4.2 sevenths into these."""
    scored(cast.student, "chipping-proximity", chips(*[0.9] * 10, *[1.8] * 7, *[2.7] * 3), step_m=0.9)
    [metres] = re.findall(r"7 of 10 chips stop within ([\d.]+) m", text_of(page_of(as_("student"), cast)))
    assert float(metres) == pytest.approx(1.35 + 0.9 * 4.2 / 7, abs=0.05)


def test_holed_chips_stop_at_the_hole() -> None:
    assert leave_for_share(np.zeros(10), np.full(10, 0.9), 0.7) < 0.45
