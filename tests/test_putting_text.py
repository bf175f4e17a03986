"""The sentences and pictures of test results: published figures, limits, and nothing that is not known."""

import csv
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from drills.putting import assumptions, coach_text, picture, predictions, student_text, unit_formatter
from drills.putting.chips import Chipping
from drills.putting.coach_text import ResultLine
from drills.putting.picture import LeaveGroup
from drills.putting.posterior import Estimate
from drills.putting.predictions import (
    ERROR_KINDS,
    Challenge,
    Change,
    ErrorGain,
    ErrorKind,
    GainComparison,
    MarginalGain,
    PutterEstimate,
    share_change,
    spread_change,
)
from drills.putting.retest import CountRetest, RatioRetest
from drills.putting.unit_formatter import UnitFormatter
from lessons.progress.intervals import Share
from lessons.progress.sentences import percent

NEWCOMBE = (Path(__file__).parent / "reference" / "newcombe_independent.csv").read_text()
METRES, FEET, LEFTY = UnitFormatter("m", "right"), UnitFormatter("ft", "right"), UnitFormatter("m", "left")
KNOWN = PutterEstimate(
    line=Estimate(1.6, 1.3, 2.0),
    line_bias=Estimate(0.4, 0.1, 0.7),
    pace=Estimate(0.12, 0.09, 0.16),
    pace_bias=Estimate(-0.05, -0.09, -0.01),
    is_separable=True,
    fits_model=True,
)


def words(lines: list[ResultLine]) -> str:
    return " ".join(f"{line.name}: {line.text} {line.note} {line.certainty}" for line in lines)


# --- Lengths ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "metres, in_metres, in_feet",
    [(1.0, "1 m", "3.5 ft"), (1.23, "1.2 m", "4 ft"), (6.096, "6.1 m", "20 ft"), (12.192, "12 m", "40 ft")],
)
def test_a_length_is_in_the_academys_unit(metres: float, in_metres: str, in_feet: str) -> None:
    """A foot has 0.3048 m, exactly, since 1959."""
    assert METRES.length(metres) == in_metres and FEET.length(metres) == in_feet


@pytest.mark.parametrize(
    "metres, text",
    [(0.1, "less than half a step"), (0.45, "half a step"), (0.9, "1 step"), (1.35, "1½ steps"), (9, "10 steps")],
)
def test_steps_are_halves_or_whole(metres: float, text: str) -> None:
    assert unit_formatter.steps(metres) == text


def test_a_gate_is_in_centimetres_or_inches() -> None:
    assert METRES.gate_width(0.08) == "8 cm" and FEET.gate_width(0.0762) == "3.0 in"


# --- Dispersion ---------------------------------------------------------------------------------


def test_the_errors_stand_beside_the_published_ones() -> None:
    """Bansal & Broadie (2008), as quoted: 1.0 degrees and 6.5 %; 1.5 degrees and 8.5 %, the read in them."""
    mine, tour, golfer = coach_text.error_rows(KNOWN, "these tests")
    assert (mine.line, mine.pace) == ("1.6°", "12%")
    assert tour.whose == "published average for professionals"
    intervals = coach_text.error_intervals(KNOWN, "these tests")
    assert intervals == [("Start line, these tests", "1.3° to 2.0°"), ("Pace, these tests", "9% to 16%")]
    assert (tour.line, tour.pace) == ("1.0°", "6.5%") and (golfer.line, golfer.pace) == ("1.5°", "8.5%")


def test_pushes_go_right_for_one_side_and_left_for_the_other() -> None:
    assert "Pushes: 0.4° to the right" in words(coach_text.start_line_and_pace(KNOWN, METRES, includes_misreads=True))
    assert "Pushes: 0.4° to the left" in words(coach_text.start_line_and_pace(KNOWN, LEFTY, includes_misreads=True))
    pulls = replace(KNOWN, line_bias=Estimate(-0.4, -0.7, -0.1))
    assert "Pulls: 0.4° to the left" in words(coach_text.start_line_and_pace(pulls, METRES, includes_misreads=True))


def test_short_and_long_are_shares_of_the_length() -> None:
    assert "Short by 5%" in words(coach_text.start_line_and_pace(KNOWN, METRES, includes_misreads=True))
    long = replace(KNOWN, pace_bias=Estimate(0.05, 0.01, 0.09))
    assert "Long by 5%" in words(coach_text.start_line_and_pace(long, METRES, includes_misreads=True))


def test_no_bias_is_named_whose_interval_includes_0() -> None:
    even = replace(KNOWN, line_bias=Estimate(0.3, -0.1, 0.7), pace_bias=Estimate(0.02, -0.01, 0.05))
    text = words(coach_text.start_line_and_pace(even, METRES, includes_misreads=False))
    assert "Neither side is clear" in text and "Neither is clear" in text
    assert "Pushes" not in text and "Long by" not in text


def test_the_read_is_named_where_there_was_a_hole_to_miss() -> None:
    at_hole, at_gate = (
        words(coach_text.start_line_and_pace(KNOWN, METRES, includes_misreads=has_hole)) for has_hole in (True, False)
    )
    assert "A misread counts as start line here" in at_hole and "read" not in at_gate


def test_intervals_stand_apart_from_the_sentences() -> None:
    """A page shows them behind one control; a sentence holds the estimate alone."""
    lines = [
        *coach_text.start_line_and_pace(KNOWN, METRES, includes_misreads=True),
        *coach_text.challenge_lines(CHALLENGE, METRES),
        *coach_text.chip_lines(CHIPPING, 1, "chip", True, METRES),
    ]
    assert sum(bool(line.certainty) for line in lines) == 8
    for line in lines:
        assert "interval" not in line.text + line.note
        assert not line.certainty or line.certainty not in line.text + line.note


def test_what_is_not_known_has_no_number() -> None:
    nothing = PutterEstimate(None, None, None, None, is_separable=True, fits_model=True)
    text = words(coach_text.start_line_and_pace(nothing, METRES, includes_misreads=False))
    assert text.count("Not measured") == 2 and not any(letter.isdigit() for letter in text)
    assert coach_text.error_rows(nothing, "me")[0].line == "not known"


def test_what_is_not_separable_has_no_number() -> None:
    both = replace(KNOWN, is_separable=False)
    text = words(coach_text.start_line_and_pace(both, METRES, includes_misreads=True))
    assert "Too few to tell the two apart" in text and "°" not in text and "%" not in text
    assert coach_text.error_rows(both, "me")[0] == ("me", "not known", "not known")


def test_a_wide_interval_is_no_result() -> None:
    wide = replace(KNOWN, pace=Estimate(0.08, 0.03, 0.16))
    text = words(coach_text.start_line_and_pace(wide, METRES, includes_misreads=False))
    assert "Pace: Too few balls to say." in text and "within 8%" not in text
    assert coach_text.error_rows(wide, "me")[0].pace.startswith("too few balls")


def test_the_prior_is_stated() -> None:
    """A prior that nobody names would be a hidden opinion."""
    [text] = [words for words in assumptions.assumptions(METRES) if "Before any ball" in words]
    assert re.search(r"start-line error of \d\.\d° to \d\.\d° and a pace error of \d+% to \d+%", text)


def test_green_speeds_are_given_as_far_as_they_were_noted() -> None:
    assert assumptions.green_speeds([None]) == "Green speed not noted."
    assert assumptions.green_speeds([9.5, 9.5]) == "Stimp 9.5."
    assert assumptions.green_speeds([10.0, None, 9.0]) == "Stimp 9 to 10; not noted for 1 test."
    assert (
        assumptions.tests_used(2, 40, 1) == "2 tests: 40 putts and 1 chip."
        and assumptions.tests_used(1, 0, 0) == "1 test."
    )


# --- What to work on ----------------------------------------------------------------------------


def compared(**ahead: float) -> GainComparison:
    """Gains of 0.8, 0.6, 0.4 and 0.2, the first named the greatest; each is ahead in so many of the draws."""
    kinds = [*ahead, *(kind for kind in ERROR_KINDS if kind not in ahead)]
    return GainComparison(
        tuple(
            ErrorGain(kind, Estimate(0.8 - 0.2 * place, 0.0, 1.0), ahead.get(kind, 0.0))
            for place, kind in enumerate(kinds)
        )
    )


def test_what_is_worth_most_is_named_where_the_draws_agree() -> None:
    near, far = coach_text.gains(MarginalGain(compared(pace_bias=0.95, line=0.05), compared(pace=1.0)), FEET)
    assert near.name == "Holed from 3 ft to 10 ft" and near.text == "The bias of the length is worth most."
    assert "no bias of the length 0.8 more holed of ten" in near.note and "start line 0.6" in near.note
    assert far.name == "Three-putts from 20 ft to 40 ft" and far.text == "The spread of the pace is worth most."
    for name in ("start line", "side", "pace", "length"):
        assert name in near.note and name in near.certainty, "each of the four, and how sure"


def test_two_that_are_close_are_both_named() -> None:
    [near, _] = coach_text.gains(MarginalGain(compared(pace_bias=0.8, line=0.2), compared(pace=1.0)), METRES)
    assert near.text == "Cannot tell yet whether the bias of the length or the spread of the start line is worth most."


def test_otherwise_it_cannot_be_told_yet() -> None:
    even = compared(line=0.4, pace=0.3, line_bias=0.3)
    assert [line.text for line in coach_text.gains(MarginalGain(even, even), METRES)] == [coach_text.CANNOT_TELL] * 2


def test_what_brings_next_to_nothing_does_not_lead() -> None:
    small = GainComparison(tuple(replace(each, brings=Estimate(0.04, 0, 0.08)) for each in compared(line=1.0).gains))
    assert small.more is None and compared(line=1.0).more == "line"


@pytest.mark.parametrize("agree, more", [(95, "line"), (50, None), (5, "pace_bias")])
def test_nine_draws_of_ten_must_agree(agree: int, more: str | None) -> None:
    line = np.where(np.arange(100) < agree, 2.0, 0.0)
    none = np.zeros(100)
    others: dict[ErrorKind, np.ndarray] = {"line_bias": none, "pace": none, "pace_bias": np.ones(100)}
    assert predictions.compare_gains({"line": line, **others}).more == more


# --- The next challenge -------------------------------------------------------------------------

CHALLENGE = Challenge(0.7, Estimate(1.2, 1.0, 1.5), 0.074, 1.0)


def test_a_challenge_is_a_target_of_ten_with_steps() -> None:
    text = words(coach_text.challenge_lines(CHALLENGE, METRES))
    assert "7 of 10 from 1.2 m (1½ steps)." in text and "1 m to 1.5 m" in text
    assert "7 of 10 through a gate 7.5 cm wide, 1 m away." in text


def test_a_distance_that_is_not_known_is_not_offered() -> None:
    wide = replace(CHALLENGE, distance_m=Estimate(1.2, 0.6, 2.4), gate_m=None)
    text = words(coach_text.challenge_lines(wide, METRES))
    assert "Too few balls to set a distance" in text and "7 of 10" not in text
    assert student_text.targets(wide, METRES, is_child=False) == []
    assert "cannot set a distance" in words(coach_text.challenge_lines(replace(wide, distance_m=None), METRES))


def test_a_child_plays_for_it() -> None:
    assert student_text.game(CHALLENGE, METRES) == "Putt ten balls from 1½ steps. Seven in the hole, and you win."
    gate = student_text.game(replace(CHALLENGE, distance_m=None), METRES)
    assert "wide, 1 step away." in gate and "through it, and you win" in gate, "a width says nothing without a distance"
    assert "is a point" in student_text.game(None, METRES)


# --- Changes ------------------------------------------------------------------------------------


def test_what_ten_putts_cannot_show_is_stated() -> None:
    """Telling 50 % from 60 % takes about 385 putts each time, as trade books of statistics say (Fleiss, ch. 4)."""
    assert "5 of 10 from one who holes 6" in coach_text.ten_putts() and "385" in coach_text.ten_putts()


@pytest.mark.parametrize("row", list(csv.DictReader(NEWCOMBE.splitlines())), ids=lambda row: row["example"])
def test_a_change_of_shares_is_newcombes_difference(row: dict[str, str]) -> None:
    """Newcombe (1998), Stat. Med. 17, 873-890, table II, method 10."""
    one, other = Share(int(row["x1"]), int(row["n1"])), Share(int(row["x2"]), int(row["n2"]))
    found = share_change(one, other).difference
    assert found.low == pytest.approx(float(row["hybrid_score_lo"]), abs=6e-5)
    assert found.high == pytest.approx(float(row["hybrid_score_hi"]), abs=6e-5)


def test_a_spread_that_halved_for_certain_is_better() -> None:
    change = spread_change(Estimate(0.05, 0.04, 0.06), Estimate(0.10, 0.08, 0.12))
    assert change.verdict == "better" and change.difference.middle == pytest.approx(-0.5)
    text = coach_text.change_line("Measured leaves", change, "3 Mar 2026", percent, "Pace error")
    assert text.text == "Better." and "10% on 3 Mar 2026, then 5%" in text.note and text.certainty.endswith("%")
    assert spread_change(change.before, change.now).verdict == "worse"


def test_a_change_within_chance_is_none() -> None:
    change = spread_change(Estimate(0.08, 0.06, 0.11), Estimate(0.10, 0.07, 0.14))
    text = coach_text.change_line("Measured leaves", change, "3 Mar 2026", percent, "Pace error")
    assert change.verdict == "" and text.text == "No change that so few balls could show."
    assert student_text.change_words(change, "3 Mar 2026").startswith("About the same as on 3 Mar 2026")


def test_a_retest_of_few_balls_is_not_worth_it() -> None:
    assert "Too few" in coach_text.retest_share("Counted putts", Share(3, 7), None, None, "holed").note
    assert "%" not in words([coach_text.retest_share("Counted putts", Share(3, 7), None, None, "holed")])
    assert "Too few" in coach_text.retest_spread("Leaves", 7, RatioRetest(0.4, 0.3), 159, "pace error").note
    assert "No better score" in coach_text.retest_share("Counted putts", Share(10, 10), None, None, "holed").note
    again = coach_text.retest_share("Counted putts", Share(20, 40), CountRetest(29, 31), 374, "holed")
    assert "29 or more; a player with about 31 of 40" in again.note


def test_half_of_the_balls_through_a_gate_take_as_many_as_50_and_60_percent() -> None:
    """A fifth less error lets 60.1 % through such a gate: two normal tables' look-ups, 0.6745 and 0.8432."""
    found = predictions.gate_balls_for_a_fifth(0.5)
    assert found is not None and found == pytest.approx(385, rel=0.05)
    assert predictions.gate_balls_for_a_fifth(1.0) is None


# --- Chips --------------------------------------------------------------------------------------

CHIPPING = Chipping(20, Estimate(1.8, 1.2, 2.4), Estimate(0.4, 0.3, 0.5), Estimate(2.6, 2.5, 2.7), 0.1, 0.05)


def test_chips_name_whose_putts_follow() -> None:
    own = words(coach_text.chip_lines(CHIPPING, 1, "chip", True, METRES))
    assert "Half of them stop within 1.8 m (2 steps)." in own and "this student’s own putts" in own
    assert "Nearer chips are worth more" in own and "40%" in own and "30% to 50%" in own
    published = words(coach_text.chip_lines(CHIPPING, 1, None, False, METRES))
    assert "published average for players who need about 90 strokes" in published and "Cannot tell yet" in published


def test_few_chips_are_only_counted() -> None:
    text = words(coach_text.chip_lines(replace(CHIPPING, balls=7), 1, None, False, METRES))
    assert "7 chips, 1 of them holed." in text and "%" not in text
    assert "%" not in student_text.chips(replace(CHIPPING, balls=7), METRES)


def test_published_putts_are_those_that_are_printed() -> None:
    """Broadie (2014), as quoted: 84 % from 3 ft, 20 % from 10 ft."""
    rates = predictions.published_rates(np.array([0.1, 0.3048, 0.9144, 3.048]))[0]
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
    assert predictions.nearer_or_surer(leaves, lambda far: curve(far)[None]) == more


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
    for x, y in [*pairs(drawn.line), *band, *pairs(drawn.professionals), *pairs(drawn.club_players)]:
        assert 0 <= x <= drawn.width and 0 <= y <= drawn.height
    assert [tick.label for tick in drawn.across] == ["0", "1", "2", "3", "4", "5", "6"]


def test_every_counted_place_is_shown_to_the_last_one() -> None:
    at = picture.places({6.0: Share(1, 10)})
    counted = {1.0: Share(8, 10), at[-1]: Share(1, 10), at[-1] + 1: Share(1, 10)}
    drawn = picture.curve_picture([Estimate(0.5, 0.4, 0.6)] * len(at), at, counted, "m")
    assert len(drawn.whiskers) == 2, "what lies beyond the picture is left out, what lies on its edge is not"


def test_published_curves_begin_where_they_are_printed() -> None:
    """The tour's from 1 ft, the others' from 3 ft."""
    at = picture.places({})
    drawn = picture.curve_picture([Estimate(0.5, 0.4, 0.6)] * len(at), at, {}, "ft")
    assert pairs(drawn.professionals)[0][0] == picture.x_of(0.3048, at[-1])
    assert pairs(drawn.club_players)[0][0] == picture.x_of(0.9144, at[-1])
    assert [tick.label for tick in drawn.across] == ["0", "5", "10", "15", "20"]


def test_a_counted_share_stands_within_its_interval() -> None:
    """Newcombe (1998), Stat. Med. 17, 857-872: 5 of 10 is 24 to 76 % by Wilson's method."""
    found = picture.whisker(1.0, Share(5, 10), 6.0)
    assert (found.low, found.high) == (picture.y_of(0.2366), picture.y_of(0.7634))


def test_leaves_stand_upon_one_another_on_their_side_of_the_hole() -> None:
    pile = LeaveGroup("From 6 m", (-1.0, 0.5, 0.5, 0.5), 2)
    [strip] = (drawn := picture.leaves_picture([pile], "m", signed=True)).strips
    assert (strip.short, strip.past) == (1, 3) and strip.each == "−1.0, 0.5 (3 times)"
    assert strip.dots[0][0] < drawn.hole < strip.dots[1][0]
    assert len({x for x, _ in strip.dots[1:]}) == 1 and len({y for _, y in strip.dots[1:]}) == 3
    assert all(strip.top < y < strip.y for _, y in strip.dots)


def test_leaves_of_nothing_but_zero_have_a_picture() -> None:
    drawn = picture.leaves_picture([LeaveGroup("From 6 m", (0.0, 0.0), 0)], "m", signed=True)
    assert all(np.isfinite(place) for place in drawn.strips[0].dots[0])


# --- A student's words --------------------------------------------------------------------------


def test_a_student_reads_where_to_start_putts_and_how_far_to_let_them_roll() -> None:
    text = " ".join(student_text.advice(KNOWN, LEFTY, "30 cm past the hole"))
    further = "Let your putts roll a little further: they are meant to stop 30 cm past the hole."
    assert text == f"Start your putts a little further to the right. {further}"
    assert student_text.advice(replace(KNOWN, fits_model=False), LEFTY, "at the line") == []


def test_a_student_reads_of_the_aim_of_the_test_and_of_none_where_tests_differ() -> None:
    long = replace(KNOWN, line_bias=None, pace_bias=Estimate(0.05, 0.01, 0.09))
    [text] = student_text.advice(long, METRES, "at the line")
    assert text == "Let your putts stop a little sooner: they are meant to stop at the line."
    [text] = student_text.advice(long, METRES)
    assert text == "Let your putts stop a little sooner."


def test_a_student_reads_what_helps_most() -> None:
    worth = MarginalGain(compared(line=1.0), compared(pace=1.0))
    assert [words.split(":")[0] for words in student_text.work_on(worth, KNOWN, METRES)] == [
        "Where the ball starts",
        "How far the ball rolls",
    ]
    even = MarginalGain(compared(line=0.5, pace=0.5), compared(line=0.5, pace=0.5))
    assert student_text.work_on(even, KNOWN, METRES) == []


def test_a_student_reads_of_a_bias_that_costs_most_and_of_nothing_else() -> None:
    """Short by 5 % and pushed by 0.4 degrees: farther, and to the other side."""
    short = MarginalGain(compared(pace_bias=1.0), compared(pace_bias=1.0))
    [text] = student_text.work_on(short, KNOWN, METRES)
    assert text.startswith("Letting your putts roll further: that brings you more short putts, and")
    [text] = student_text.work_on(MarginalGain(compared(line_bias=1.0), compared(line=0.5, pace=0.5)), KNOWN, LEFTY)
    assert text == "Starting your putts a little further to the right: that brings you more short putts."


def test_a_lower_result_is_given_in_counts() -> None:
    worse = Change(Estimate(0.1, 0.08, 0.12), Estimate(0.05, 0.04, 0.06), Estimate(1.0, 0.5, 2.0), True)
    text = student_text.change_words(worse, "3 Mar 2026", "4 of 20 through", "12 of 20 through")
    assert text.startswith("This time 4 of 20 through; on 3 Mar 2026 12 of 20 through.")
    assert "worse" not in text and "good" not in text and student_text.change_words(None, "") == ""


@pytest.mark.parametrize(
    "share, words",
    [(0.12, "12% long"), (-0.12, "12% short"), (0.006, "1% long"), (-0.006, "1% short"), (0.004, "0%"), (-0.004, "0%")],
)
def test_a_share_of_the_length_is_short_or_long_where_it_is_a_percent(share: float, words: str) -> None:
    assert coach_text.short_or_long(share) == words


def test_a_bias_whose_interval_just_reaches_none_is_no_advice() -> None:
    for low, high in ((-1.0, 0.0), (0.0, 1.0)):
        bias = Estimate((low + high) / 2, low, high)
        assert student_text.advice(replace(KNOWN, line_bias=bias, pace_bias=bias), METRES, "at the line") == []
