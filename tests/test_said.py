"""The sentences and pictures of what tests say: published figures, limits, and nothing that is not known."""

import csv
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from drills.putting import coach_text as said
from drills.putting import limits, picture
from drills.putting import predictions as outcome
from drills.putting import student_text as plain
from drills.putting.chips import Chipping
from drills.putting.coach_text import Ear, Fact
from drills.putting.picture import Pile
from drills.putting.posterior import Estimate
from drills.putting.predictions import Better, Challenge, Change, Known, Worth, share_change, spread_change
from lessons.progress.intervals import Share

NEWCOMBE = (Path(__file__).parent / "reference" / "newcombe_independent.csv").read_text()
METRES, FEET, LEFTY = Ear("m", "right"), Ear("ft", "right"), Ear("m", "left")
KNOWN = Known(
    line=Estimate(1.6, 1.3, 2.0),
    line_bias=Estimate(0.4, 0.1, 0.7),
    pace=Estimate(0.12, 0.09, 0.16),
    pace_bias=Estimate(-0.05, -0.09, -0.01),
    apart=True,
    described=True,
)


def words(facts: list[Fact]) -> str:
    return " ".join(f"{fact.name}: {fact.words} {fact.limit}" for fact in facts)


# --- Lengths ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "metres, in_metres, in_feet",
    [(1.0, "1 m", "3.5 ft"), (1.23, "1.2 m", "4 ft"), (6.096, "6.1 m", "20 ft"), (12.192, "12 m", "40 ft")],
)
def test_a_length_is_told_in_the_academys_unit(metres: float, in_metres: str, in_feet: str) -> None:
    """A foot has 0.3048 m, exactly, since 1959."""
    assert METRES.length(metres) == in_metres and FEET.length(metres) == in_feet


@pytest.mark.parametrize(
    "metres, told",
    [(0.1, "less than half a step"), (0.45, "half a step"), (0.9, "1 step"), (1.35, "1½ steps"), (9, "10 steps")],
)
def test_a_length_is_walked_in_half_steps(metres: float, told: str) -> None:
    assert said.steps(metres) == told


def test_a_gate_is_told_in_centimetres_or_inches() -> None:
    assert METRES.width(0.08) == "8 cm" and FEET.width(0.0762) == "3.0 in"


# --- Dispersion ---------------------------------------------------------------------------------


def test_the_errors_stand_beside_the_published_ones() -> None:
    """Bansal & Broadie (2008), as quoted: 1.0 degrees and 6.5 %; 1.5 degrees and 8.5 %, the read in them."""
    mine, tour, golfer = said.beside(KNOWN, "these tests")
    assert "1.6°" in mine.line and "1.3° to 2.0°" in mine.line and "12%" in mine.pace and "9% to 16%" in mine.pace
    assert (tour.line, tour.pace) == ("1.0°", "6.5%") and (golfer.line, golfer.pace) == ("1.5°", "8.5%")


def test_pushes_go_right_for_one_side_and_left_for_the_other() -> None:
    assert "Pushes: 0.4° to the right" in words(said.dispersion(KNOWN, METRES, mixed=True))
    assert "Pushes: 0.4° to the left" in words(said.dispersion(KNOWN, LEFTY, mixed=True))
    pulls = replace(KNOWN, line_bias=Estimate(-0.4, -0.7, -0.1))
    assert "Pulls: 0.4° to the left" in words(said.dispersion(pulls, METRES, mixed=True))


def test_short_and_long_are_shares_of_the_length() -> None:
    assert "Short by 5%" in words(said.dispersion(KNOWN, METRES, mixed=True))
    long = replace(KNOWN, pace_bias=Estimate(0.05, 0.01, 0.09))
    assert "Long by 5%" in words(said.dispersion(long, METRES, mixed=True))


def test_no_bias_is_told_whose_interval_holds_none() -> None:
    even = replace(KNOWN, line_bias=Estimate(0.3, -0.1, 0.7), pace_bias=Estimate(0.02, -0.01, 0.05))
    told = words(said.dispersion(even, METRES, mixed=False))
    assert "Neither side is clear" in told and "Neither is clear" in told
    assert "Pushes" not in told and "Long by" not in told


def test_the_read_is_named_where_there_was_a_hole_to_miss() -> None:
    assert "Misses mix read with start line" in words(said.dispersion(KNOWN, METRES, mixed=True))
    assert "read" not in words(said.dispersion(KNOWN, METRES, mixed=False))


def test_what_is_not_known_has_no_number() -> None:
    nothing = Known(None, None, None, None, apart=True, described=True)
    told = words(said.dispersion(nothing, METRES, mixed=False))
    assert told.count("Not measured") == 2 and not any(letter.isdigit() for letter in told)
    assert said.beside(nothing, "me")[0].line == "not known"


def test_what_does_not_come_apart_is_not_told_apart() -> None:
    both = replace(KNOWN, apart=False)
    told = words(said.dispersion(both, METRES, mixed=True))
    assert "Too few to tell the two apart" in told and "°" not in told and "%" not in told
    assert said.beside(both, "me")[0] == ("me", "not known", "not known")


def test_a_wide_interval_is_no_result() -> None:
    wide = replace(KNOWN, pace=Estimate(0.08, 0.03, 0.16))
    told = words(said.dispersion(wide, METRES, mixed=False))
    assert "Pace: Too few balls to say." in told and "within 8%" not in told
    assert said.beside(wide, "me")[0].pace.startswith("too few balls")


def test_what_is_thought_before_any_ball_is_said() -> None:
    """A prior that nobody names would be a hidden opinion."""
    [told] = [words for words in limits.assumed() if "Before any ball" in words]
    assert re.search(r"errors of \d\.\d° to \d\.\d° and of \d+% to \d+%", told)


def test_the_days_greens_are_said_as_far_as_they_were_noted() -> None:
    assert limits.greens([None]) == "Green speed not noted."
    assert limits.greens([9.5, 9.5]) == "Green speed 9.5 ft."
    assert limits.greens([10.0, None, 9.0]) == "Green speeds 9 to 10 ft; not noted for 1 test."
    assert limits.rests(2, 40, 1) == "2 tests: 40 putts and 1 chip." and limits.rests(1, 0, 0) == "1 test."


# --- What it costs ------------------------------------------------------------------------------


def test_what_is_worth_more_is_told_where_the_draws_agree() -> None:
    worth = Worth(Better(0.7, 0.3, "line"), Better(0.5, 0.8, "pace"))
    near, far = said.costs(worth, FEET)
    assert near.name == "Holed from 3 ft to 10 ft" and near.words == "Start line is worth more."
    assert "0.7 more holed of ten" in near.limit and "0.3" in near.limit
    assert far.name == "Three-putts from 20 ft to 40 ft" and far.words == "Pace is worth more."


def test_and_else_that_it_cannot_be_told() -> None:
    worth = Worth(Better(0.7, 0.6, None), Better(0.5, 0.5, None))
    assert [fact.words for fact in said.costs(worth, METRES)] == [said.CANNOT] * 2


@pytest.mark.parametrize("agree, more", [(95, "line"), (50, None), (5, "pace")])
def test_nine_draws_of_ten_must_agree(agree: int, more: str | None) -> None:
    line = np.where(np.arange(100) < agree, 2.0, 0.0)
    assert outcome.better(line, np.ones(100)).more == more


# --- The next challenge -------------------------------------------------------------------------

CHALLENGE = Challenge(0.7, Estimate(1.2, 1.0, 1.5), 0.074, 1.0)


def test_a_challenge_is_a_mark_of_ten_with_steps() -> None:
    told = words(said.challenges(CHALLENGE, METRES))
    assert "7 of 10 from 1.2 m (1½ steps)." in told and "95% interval 1 m to 1.5 m" in told
    assert "7 of 10 through a gate 7.5 cm wide, 1 m away." in told


def test_a_distance_that_is_not_known_is_not_offered() -> None:
    wide = replace(CHALLENGE, distance_m=Estimate(1.2, 0.6, 2.4), gate_m=None)
    told = words(said.challenges(wide, METRES))
    assert "Too few balls to place it" in told and "7 of 10" not in told
    assert plain.marks(wide, METRES, is_child=False) == []
    assert "cannot place it" in words(said.challenges(replace(wide, distance_m=None), METRES))


def test_a_child_plays_for_it() -> None:
    assert plain.game(CHALLENGE, METRES) == "Putt ten balls from 1½ steps. Seven in the hole, and you win."
    gate = plain.game(replace(CHALLENGE, distance_m=None), METRES)
    assert "wide, 1 step away." in gate and "through it, and you win" in gate, "a width says nothing without a distance"
    assert "is a point" in plain.game(None, METRES)


# --- Changes ------------------------------------------------------------------------------------


def test_the_commonest_false_hope_is_named() -> None:
    """Telling 50 % from 60 % takes about 385 putts each time, as trade books of statistics say (Fleiss, ch. 4)."""
    assert "50% from 60%" in said.ten_putts() and "385" in said.ten_putts()


@pytest.mark.parametrize("row", list(csv.DictReader(NEWCOMBE.splitlines())), ids=lambda row: row["example"])
def test_a_change_of_shares_is_newcombes_difference(row: dict[str, str]) -> None:
    """Newcombe (1998), Stat. Med. 17, 873-890, table II, method 10."""
    one, other = Share(int(row["x1"]), int(row["n1"])), Share(int(row["x2"]), int(row["n2"]))
    found = share_change(one, other).apart
    assert found.low == pytest.approx(float(row["hybrid_score_lo"]), abs=6e-5)
    assert found.high == pytest.approx(float(row["hybrid_score_hi"]), abs=6e-5)


def test_a_spread_that_halved_for_certain_is_better() -> None:
    change = spread_change(Estimate(0.05, 0.04, 0.06), Estimate(0.10, 0.08, 0.12))
    assert change.verdict == "better" and change.apart.middle == pytest.approx(-0.5)
    told = said.changed("Measured leaves", change, "3 Mar 2026", said.percent, "Pace error")
    assert told.words == "Better." and "10% on 3 Mar 2026, then 5%" in told.limit and "% of it" in told.limit
    assert spread_change(change.before, change.now).verdict == "worse"


def test_a_change_within_chance_is_none() -> None:
    change = spread_change(Estimate(0.08, 0.06, 0.11), Estimate(0.10, 0.07, 0.14))
    told = said.changed("Measured leaves", change, "3 Mar 2026", said.percent, "Pace error")
    assert change.verdict == "" and told.words == "No change that so few balls could show."
    assert plain.getting(change, "3 Mar 2026").startswith("About as on 3 Mar 2026")


def test_a_retest_of_few_balls_is_not_worth_it() -> None:
    assert "Too few" in said.retest_share("Counted putts", Share(3, 7), None, None, "holed").limit
    assert "%" not in words([said.retest_share("Counted putts", Share(3, 7), None, None, "holed")])
    assert "Too few" in said.retest_spread("Leaves", 7, 0.4, 159, "pace error").limit
    assert "No better score" in said.retest_share("Counted putts", Share(10, 10), None, None, "holed").limit
    assert "about 32" in said.retest_share("Counted putts", Share(20, 40), 0.79, 374, "holed").limit


def test_half_of_the_balls_through_a_gate_take_as_many_as_50_and_60_percent() -> None:
    """A fifth less error lets 60.1 % through such a gate: two normal tables' look-ups, 0.6745 and 0.8432."""
    found = outcome.gate_balls_for_a_fifth(0.5)
    assert found is not None and found == pytest.approx(385, rel=0.05)
    assert outcome.gate_balls_for_a_fifth(1.0) is None


def test_as_many_balls_as_tell_a_ratio_tell_that_ratio() -> None:
    few, many = outcome.least_ratio(20), outcome.least_ratio(160)
    assert outcome.least_ratio(1) is None
    assert few is not None and many is not None and few < 0.8 <= many


# --- Chips --------------------------------------------------------------------------------------

CHIPPING = Chipping(20, Estimate(1.8, 1.2, 2.4), Estimate(0.4, 0.3, 0.5), Estimate(2.6, 2.5, 2.7), 0.1, 0.05)


def test_chips_say_through_whose_putts() -> None:
    own = words(said.chips(CHIPPING, 1, "chip", True, METRES))
    assert "Half of them stop within 1.8 m (2 steps)." in own and "this student’s own putts" in own
    assert "Nearer chips are worth more" in own and "40%" in own and "30% to 50%" in own
    published = words(said.chips(CHIPPING, 1, None, False, METRES))
    assert "golfers who score about 90" in published and "cannot say" in published


def test_few_chips_are_only_counted() -> None:
    told = words(said.chips(replace(CHIPPING, balls=7), 1, None, False, METRES))
    assert "7 chips, 1 of them holed." in told and "%" not in told
    assert "%" not in plain.chips(replace(CHIPPING, balls=7), METRES)


def test_published_putts_are_those_that_are_printed() -> None:
    """Broadie (2014), as quoted: 84 % from 3 ft, 20 % from 10 ft."""
    rates = outcome.published_rates(np.array([0.1, 0.3048, 0.9144, 3.048]))[0]
    assert rates == pytest.approx([1.0, 1.0, 0.84, 0.20])


@pytest.mark.parametrize(
    "curve, leaves, more",
    [
        (lambda far: np.exp(-far), [2.0] * 20, "putt"),  # 0.067 of a stroke by nearer chips, 0.173 by surer putts
        (lambda far: 1 - (far / 2) ** 2, [1.0] * 20, "chip"),  # 0.09 and 0.05
        (lambda far: np.interp(far, [0.8, 1, 1.6, 2], [0.9, 0.7, 0.22, 0.2]), [1.0, 2.0] * 10, None),  # as much
    ],
)
def test_nearer_or_surer_only_if_clear(curve: Any, leaves: list[float], more: str | None) -> None:
    assert outcome.nearer_or_surer(leaves, lambda far: curve(far)[None]) == more


# --- Pictures -----------------------------------------------------------------------------------


def pairs(points: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in (pair.split(",") for pair in points.split())]


def test_the_curve_lies_in_its_band_and_all_of_it_in_the_picture() -> None:
    counted = {1.0: Share(8, 10), 3.0: Share(2, 10)}
    at = picture.places(counted)
    curve = [Estimate(np.exp(-d / 2), np.exp(-d / 1.8) * 0.8, np.exp(-d / 2.2)) for d in at]
    drawn = picture.curve_picture(curve, at, counted, "m")
    band = pairs(drawn.band)
    for (x, y), above, below in zip(pairs(drawn.line), band, reversed(band), strict=False):
        assert above[0] == x == below[0] and above[1] <= y <= below[1]
    for x, y in [*pairs(drawn.line), *band, *pairs(drawn.tour), *pairs(drawn.golfer)]:
        assert 0 <= x <= drawn.width and 0 <= y <= drawn.height
    assert [tick.label for tick in drawn.across] == ["0", "1", "2", "3", "4", "5", "6"]


def test_published_curves_begin_where_they_are_printed() -> None:
    """The tour's from 1 ft, the others' from 3 ft."""
    at = picture.places({})
    drawn = picture.curve_picture([Estimate(0.5, 0.4, 0.6)] * len(at), at, {}, "ft")
    assert pairs(drawn.tour)[0][0] == picture.right(0.3048, at[-1])
    assert pairs(drawn.golfer)[0][0] == picture.right(0.9144, at[-1])
    assert [tick.label for tick in drawn.across] == ["0", "5", "10", "15", "20"]


def test_a_counted_share_stands_within_its_interval() -> None:
    """Newcombe (1998), Stat. Med. 17, 857-872: 5 of 10 is 24 to 76 % by Wilson's method."""
    found = picture.whisker(1.0, Share(5, 10), 6.0)
    assert (found.low, found.high) == (picture.down(0.2366), picture.down(0.7634))


def test_leaves_stand_upon_one_another_on_their_side_of_the_hole() -> None:
    pile = Pile("From 6 m", (-1.0, 0.5, 0.5, 0.5), 2)
    [strip] = (drawn := picture.leaves_picture([pile], "m", signed=True)).strips
    assert (strip.short, strip.past) == (1, 3) and strip.each == "−1.0, 0.5 (3 times)"
    assert strip.dots[0][0] < drawn.hole < strip.dots[1][0]
    assert len({x for x, _ in strip.dots[1:]}) == 1 and len({y for _, y in strip.dots[1:]}) == 3
    assert all(strip.top < y < strip.y for _, y in strip.dots)


def test_leaves_of_nothing_but_zero_have_a_picture() -> None:
    drawn = picture.leaves_picture([Pile("From 6 m", (0.0, 0.0), 0)], "m", signed=True)
    assert all(np.isfinite(place) for place in drawn.strips[0].dots[0])


# --- A student's words --------------------------------------------------------------------------


def test_a_student_reads_left_or_right_and_no_numbers_of_statistics() -> None:
    told = " ".join(plain.tendencies(KNOWN, LEFTY))
    assert told == "Your putts tend to start to the left. " + plain.FARTHER
    assert plain.tendencies(replace(KNOWN, described=False), LEFTY) == []


def test_a_student_is_told_what_helps_most() -> None:
    worth = Worth(Better(0.7, 0.3, "line"), Better(0.5, 0.8, "pace"))
    assert [words.split(":")[0] for words in plain.work_on(worth)] == [
        "Where the ball starts",
        "How far the ball rolls",
    ]
    assert plain.work_on(Worth(Better(0.5, 0.5, None), Better(0.5, 0.5, None))) == []


def test_a_test_that_went_worse_is_no_verdict() -> None:
    worse = Change(Estimate(0.1, 0.08, 0.12), Estimate(0.05, 0.04, 0.06), Estimate(1.0, 0.5, 2.0), True)
    assert "That happens" in plain.getting(worse, "3 Mar 2026") and plain.getting(None, "") == ""
