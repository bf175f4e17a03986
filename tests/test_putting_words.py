"""Every sentence about putts once, each at the value from which it is said and at the one beside it."""

from dataclasses import replace
from math import exp

import numpy as np
import pytest
from scipy.stats import norm

from drills.putting import assumptions, coach_text, student_text, summary_text
from drills.putting.coach_text import LENGTH, SIDE, ResultLine
from drills.putting.lengths import display_unit, format_length, format_lengths, format_number, likely_unit, unit_of
from drills.putting.model_checks import is_wide
from drills.putting.posterior import Estimate
from drills.putting.predictions import Challenge, Change, GainComparison, MarginalGain, PutterEstimate
from drills.putting.prior import PRIOR_MEAN, PRIOR_SD
from drills.putting.published import CLUB_PLAYERS, ERRORS
from drills.putting.read_and_aim import LineAtHole
from drills.putting.retest import CountRetest, RatioRetest
from drills.putting.unit_formatter import UnitFormatter
from lessons.progress.intervals import Share
from lessons.progress.sentences import percent
from tests.test_putting_text import CHALLENGE, CHIPPING, FEET, KNOWN, LEFTY, METRES, compared

AT_HOLE = LineAtHole(Estimate(2.0, 1.6, 2.5), Estimate(0.6, 0.2, 0.9), is_wider=False, shift_deg=0.0, agrees=True)
BESIDE = replace(KNOWN, at_hole=AT_HOLE)


def lines(
    estimate: PutterEstimate, units: UnitFormatter = METRES, *, misreads: bool = True, without: tuple[str, ...] = ()
) -> dict[str, ResultLine]:
    found = coach_text.start_line_and_pace(estimate, units, includes_misreads=misreads, without_misses=without)
    return {line.name: line for line in found}


# --- Start line and pace ------------------------------------------------------------------------


def test_an_interval_lies_on_one_side_of_0_or_on_neither() -> None:
    for low, high, sign in ((0.1, 1, 1), (0.0, 1, 0), (-1, 0.0, 0), (-1, -0.1, -1), (-1, 1, 0)):
        assert Estimate((low + high) / 2, low, high).sign == sign


def test_a_bias_is_named_where_its_interval_leaves_0_out() -> None:
    for low, high, side, length in (
        (0.02, 0.4, "Pushes: 0.2° to the right on average.", "Long by 21% on average."),
        (0.0, 0.4, "Neither side is clear.", "Neither is clear."),
        (-0.4, 0.0, "Neither side is clear.", "Neither is clear."),
        (-0.4, -0.02, "Pulls: 0.2° to the left on average.", "Short by 21% on average."),
    ):
        bias = Estimate((low + high) / 2, low, high)
        found = lines(replace(KNOWN, line_bias=bias, pace_bias=bias))
        assert (found[SIDE].text, found[LENGTH].text) == (side, length)


def test_an_angle_has_a_side_from_a_twentieth_of_a_degree_on() -> None:
    for value, words in (
        (0.0, "0.0°"),
        (0.04, "0.0°"),
        (-0.04, "0.0°"),
        (0.06, "0.1° to the right"),
        (1.0, "1.0° to the right"),
    ):
        assert coach_text.angle(value, METRES) == words
    assert (
        coach_text.angle(-0.06, METRES) == "0.1° to the left" and coach_text.angle(-1.0, LEFTY) == "1.0° to the right"
    )


def test_a_share_of_the_length_has_a_direction_from_half_a_percent_on() -> None:
    for value, words in ((0.00498, "0%"), (0.00502, "1% long"), (-0.00498, "0%"), (-0.00502, "1% short")):
        assert coach_text.short_or_long(value) == words


def test_what_was_not_noted_is_not_noted_and_what_no_miss_could_show_says_so() -> None:
    unknown = replace(KNOWN, line_bias=None, pace_bias=None)
    for without, side, length in (
        ((), "Not noted.", "Not noted."),
        ((SIDE,), "No ball missed, so neither side shows.", "Not noted."),
        ((LENGTH,), "Not noted.", "No putt missed, so neither shows."),
    ):
        found = lines(unknown, without=without)
        assert (found[SIDE].text, found[LENGTH].text) == (side, length)
    known = lines(KNOWN, without=(SIDE, LENGTH))
    assert "Pushes" in known[SIDE].text and "Short" in known[LENGTH].text, "what shows is never denied"


def test_a_pace_of_so_many_percent_is_so_much_from_six_metres() -> None:
    assert "within 12% of their average length: from 6 m, within 0.7 m." in lines(KNOWN)["Pace"].text
    assert lines(KNOWN)["Pace"].note == ""
    assert lines(replace(KNOWN, has_wild_balls=True))["Pace"].note == coach_text.WILD


def test_an_interval_is_wide_from_three_times_its_low_end_on() -> None:
    assert not is_wide(Estimate(2.0, 1.0, 3.0)) and is_wide(Estimate(2.0, 1.0, 3.01))
    for high, is_told in ((3.0, True), (3.01, False)):
        found = lines(
            replace(BESIDE, line=Estimate(2.0, 1.0, high), at_hole=replace(AT_HOLE, line=Estimate(2, 1, high)))
        )
        for name in ("Start line", "Line at the hole"):
            assert ("within 2.0°" in found[name].text) is is_told and ("Too few" in found[name].text) is not is_told


def test_the_line_of_the_stroke_stands_apart_from_that_at_the_hole() -> None:
    found = lines(BESIDE)
    assert list(found) == ["Start line", SIDE, "Line at the hole", "Pace", LENGTH]
    assert found["Start line"].note == "Of the stroke alone, by the balls at the gate."
    assert "0.6°" in found[SIDE].text, "the bias of the stroke, not that of the putts at the hole"
    assert "within 2.0°" in found["Line at the hole"].text and found["Line at the hole"].certainty == "1.6° to 2.5°"
    assert lines(replace(BESIDE, at_hole=replace(AT_HOLE, stroke_bias=None)))[SIDE].text == "Not noted."
    assert list(lines(KNOWN)) == ["Start line", SIDE, "Pace", LENGTH]
    assert lines(KNOWN)["Start line"].note == "A misread counts as start line here."


def test_read_or_aim_is_named_where_the_line_at_the_hole_differs() -> None:
    wider, pulled = replace(AT_HOLE, is_wider=True, agrees=False), replace(AT_HOLE, shift_deg=-1.0, agrees=False)
    shifted = "On average 1.0° to the left of the stroke’s line: that is aim or read."
    for at_hole, note in (
        (AT_HOLE, coach_text.AGREES),
        (replace(AT_HOLE, agrees=False), coach_text.READ_NOT_KNOWN),
        (wider, coach_text.READ),
        (pulled, shifted),
        (replace(wider, shift_deg=-1.0), f"{coach_text.READ} {shifted}"),
    ):
        assert lines(replace(KNOWN, at_hole=at_hole))["Line at the hole"].note == note


def test_what_is_not_separable_leaves_the_stroke_that_a_gate_has_shown() -> None:
    both = list(lines(replace(KNOWN, is_separable=False)))
    assert both == ["Start line and pace"]
    stroke = lines(replace(BESIDE, is_separable=False))
    assert list(stroke) == ["Start line", SIDE, "Start line and pace"]
    assert "misread" not in stroke["Start line"].note
    alone = lines(replace(KNOWN, pace=None, is_separable=False))
    assert "within 1.6°" in alone["Start line"].text, "there is nothing to tell it apart from"


def test_only_known_errors_have_intervals() -> None:
    assert coach_text.error_intervals(replace(KNOWN, is_separable=False), "me") == []
    assert [name for name, _ in coach_text.error_intervals(replace(KNOWN, line=None), "me")] == ["Pace, me"]
    assert [name for name, _ in coach_text.error_intervals(replace(KNOWN, pace=None), "me")] == ["Start line, me"]


# --- What is worth most -------------------------------------------------------------------------


def test_a_spread_that_is_read_or_aim_is_not_called_the_start_line() -> None:
    gain = compared(line=0.95, pace=0.05)
    stroke, read = (coach_text.gain_line("Holed", replace(gain, reads=reads), "more") for reads in (False, True))
    assert stroke.text == "The spread of the start line is worth most."
    assert read.text == "The spread of the line at the hole, from read or aim, is worth most."
    assert "of the start line 0.8" in stroke.note and "line at the hole 0.8" in read.note
    for line in (stroke, read):
        assert all(words in line.note for words in ("no bias to one side 0.4", "of the pace 0.6", "of the length 0.2"))
    assert "0.0 to 1.0" in read.certainty and len(read.certainty.split("; ")) == 4


def test_what_costs_most_is_said_where_it_costs_and_what_less_of_it_brings() -> None:
    line, pace, even = compared(line=0.95), compared(pace=0.95), compared(line=0.5, pace=0.5)
    short, left = compared(pace_bias=0.95), compared(line_bias=0.95)
    three = compared(line=0.4, pace=0.3, line_bias=0.3)
    read, aim = replace(AT_HOLE, is_wider=True), replace(AT_HOLE, shift_deg=-1.0)
    pulled = replace(KNOWN, line_bias=Estimate(-0.4, -0.7, -0.1), pace_bias=Estimate(0.05, 0.01, 0.09))
    unknown = replace(KNOWN, line_bias=None, pace_bias=None)
    fifth, none = "with a fifth less of it, 0.8 more of ten holed.", "with none of it, 0.8 more of ten holed."
    for estimate, near, far, words in (
        (KNOWN, line, line, f"An uneven start line costs most near the hole and far from it: {fifth}"),
        (KNOWN, line, pace, f"An uneven start line costs most near the hole: {fifth}"),
        (KNOWN, line, even, f"An uneven start line costs most near the hole: {fifth}"),
        (
            KNOWN,
            even,
            pace,
            "Uneven pace costs most far from the hole: with a fifth less of it, 0.8 fewer three-putts in ten.",
        ),
        (KNOWN, short, even, f"Leaving putts short costs most near the hole: {none}"),
        (pulled, short, even, f"Rolling putts too far costs most near the hole: {none}"),
        (unknown, short, even, f"Leaving putts short or long costs most near the hole: {none}"),
        (KNOWN, left, even, f"Starting putts to the right costs most near the hole: {none}"),
        (pulled, left, even, f"Starting putts to the left costs most near the hole: {none}"),
        (unknown, left, even, f"Starting putts to one side costs most near the hole: {none}"),
        (BESIDE, left, even, f"Starting putts to the right costs most near the hole: {none}"),
        (
            replace(KNOWN, at_hole=aim),
            left,
            even,
            f"Reading or aiming putts to the right costs most near the hole: {none}",
        ),
        (replace(KNOWN, at_hole=read), line, even, f"Uneven read or aim at the hole costs most near the hole: {fifth}"),
        (BESIDE, line, even, f"An uneven start line costs most near the hole: {fifth}"),
        (replace(KNOWN, at_hole=read), pace, even, f"Uneven pace costs most near the hole: {fifth}"),
        (KNOWN, even, even, "Cannot tell yet what costs most: an uneven start line, or uneven pace."),
        (KNOWN, three, three, summary_text.TOO_FEW),
    ):
        assert summary_text.costs_most(estimate, MarginalGain(near, far), METRES) == words


def test_the_gain_that_is_told_is_that_of_the_error_that_leads() -> None:
    second = GainComparison(tuple(replace(each, ahead=float(each.kind == "pace")) for each in compared(line=1.0).gains))
    text = summary_text.costs_most(KNOWN, MarginalGain(second, second), METRES)
    assert text.startswith("Uneven pace") and "0.4 more of ten" in text


def test_why_it_cannot_be_told_what_costs_most() -> None:
    gain = MarginalGain(compared(line=1.0), compared(line=1.0))
    for estimate, known, words in (
        (replace(KNOWN, fits_model=False), gain, summary_text.POORLY),
        (replace(KNOWN, line=None), gain, summary_text.ONE_OF_TWO),
        (replace(KNOWN, pace=None), gain, summary_text.ONE_OF_TWO),
        (replace(KNOWN, is_separable=False), None, summary_text.NOT_SEPARABLE),
    ):
        assert summary_text.costs_most(estimate, known, METRES) == words


def test_a_coach_reads_counts_first() -> None:
    holed = {2.0: Share(3, 10), 1.0: Share(8, 10)}
    both = summary_text.counts(holed, Share(12, 20), 5, METRES)
    assert both == ["11 of 20 putts holed from 1 m to 2 m", "12 of 20 balls through the gate"]
    assert summary_text.counts({1.0: Share(8, 10)}, Share(0, 0), 0, METRES) == ["8 of 10 putts holed from 1 m"]
    assert summary_text.counts({}, Share(0, 0), 20, METRES) == ["20 putts measured"]
    assert summary_text.counts({}, Share(0, 0), 0, METRES) == []
    assert summary_text.sentence(both) == "11 of 20 putts holed from 1 m to 2 m, 12 of 20 balls through the gate."
    assert summary_text.sentence(["half of it", "more"]) == "Half of it, more." and summary_text.sentence([]) == ""


def test_chips_have_a_middle_from_eight_on() -> None:
    """Fewer than eight looks or balls are counted, and no more."""
    leave = Estimate(1.8, 1.2, 2.4)
    assert summary_text.chips(leave, 7, METRES) == "7 chips, too few to say more"
    assert summary_text.chips(leave, 8, METRES) == "half of 8 chips within 1.8 m"
    few, enough = replace(CHIPPING, balls=7), replace(CHIPPING, balls=8)
    assert student_text.chips(few, METRES) == "A few more chips, and this page can say how near they stop."
    assert student_text.chips(enough, METRES) == "Half of your chips stop within 1.8 m (2 steps)."
    assert len(coach_text.chip_lines(few, 0, None, True, METRES)) == 1
    assert len(coach_text.chip_lines(enough, 0, None, True, METRES)) == 4


# --- Targets ------------------------------------------------------------------------------------


def test_a_target_is_set_where_its_distance_is_placed_within_a_factor_of_two() -> None:
    placed, loose = (replace(CHALLENGE, distance_m=Estimate(1.2, 0.8, high)) for high in (1.6, 1.61))
    hole, gate = "7 of 10 holed from 1.2 m (1½ steps)", "7 of 10 through a gate 7.5 cm wide, 1 m away"
    assert (summary_text.holing_target(placed, METRES), summary_text.gate_target(placed, METRES)) == (hole, gate)
    assert student_text.targets(placed, METRES, is_child=False) == [hole, gate.replace("1 m away", "1 m (1 step) away")]
    assert student_text.targets(placed, METRES, is_child=True) == [
        "7 of 10 holed from 1½ steps",
        "7 of 10 through a gate 7.5 cm wide, 1 step away",
    ]
    for challenge in (loose, replace(CHALLENGE, distance_m=None)):
        assert not challenge.is_placed and summary_text.holing_target(challenge, METRES) == ""
        assert len(student_text.targets(challenge, METRES, is_child=False)) == 1
    no_gate = replace(placed, gate_m=None)
    assert summary_text.gate_target(no_gate, METRES) == "" and len(coach_text.challenge_lines(no_gate, METRES)) == 1
    assert student_text.chip_target(1.8, 0.7, METRES, is_child=False) == "7 of 10 chips stop within 1.8 m (2 steps)"
    assert student_text.chip_target(1.8, 0.7, METRES, is_child=True) == "7 of 10 chips stop within 2 steps"


def test_a_game_is_won_by_the_number_of_its_share() -> None:
    for share, word in ((0.6, "Six"), (0.7, "Seven"), (0.8, "Eight")):
        assert f" {word} in the hole" in student_text.game(replace(CHALLENGE, share=share), METRES)
    unplaced = Challenge(0.7, Estimate(1.2, 0.5, 2.4), None, 1.0)
    assert student_text.game(unplaced, METRES) == student_text.game(None, METRES)


def test_a_student_reads_what_was_counted() -> None:
    two, one, gate, none = {2.0: Share(3, 10), 1.0: Share(8, 10)}, {1.0: Share(8, 10)}, Share(12, 20), Share(0, 0)
    assert student_text.counts(two, none, METRES) == "You holed 11 of 20 putts from 1 m to 2 m."
    assert student_text.counts(one, none, METRES) == "You holed 8 of 10 putts from 1 m."
    assert student_text.counts({}, gate, METRES) == "12 of 20 balls went through the gate."
    assert student_text.counts(one, gate, METRES) == (
        "You holed 8 of 10 putts from 1 m, and 12 of 20 balls went through the gate."
    )
    assert student_text.counts({}, none, METRES) == ""
    assert student_text.station(6.0, 15, 5, METRES, has_hole=True) == "From 6 m: 20 balls, 5 holed"
    assert student_text.station(6.0, 1, 0, METRES, has_hole=False) == "From 6 m: 1 ball to a line"


def test_a_child_reads_one_sentence() -> None:
    better, worse = (Change(Estimate(1, 1, 1), Estimate(1, 1, 1), Estimate(v, v, v), True) for v in (-0.5, 0.5))
    assert student_text.child(["You holed 8.", "More."], better) == "You are getting better!"
    for change in (worse, None):
        assert student_text.child(["You holed 8.", "And more.", "Most."], change) == "You holed 8."
        assert student_text.child([], change) == "You tried, and every ball counts."


def test_practice_is_named_by_what_it_is_for() -> None:
    pulled = replace(KNOWN, line_bias=Estimate(-0.4, -0.7, -0.1), pace_bias=Estimate(0.05, 0.01, 0.09))
    read = replace(KNOWN, at_hole=replace(AT_HOLE, is_wider=True))
    unknown = replace(KNOWN, line_bias=None, pace_bias=None)
    for kind, estimate, words in (
        ("line_bias", KNOWN, "Starting your putts a little further to the left"),
        ("line_bias", pulled, "Starting your putts a little further to the right"),
        ("line_bias", unknown, "Where the ball starts"),
        ("pace_bias", KNOWN, "Letting your putts roll further"),
        ("pace_bias", pulled, "Letting your putts stop sooner"),
        ("pace_bias", unknown, "How far the ball rolls"),
        ("line", KNOWN, "Where the ball starts"),
        ("line", BESIDE, "Where the ball starts"),
        ("line", read, "Reading the green and aiming"),
        ("pace", read, "How far the ball rolls"),
    ):
        assert student_text.practice(kind, estimate, METRES) == words  # type: ignore[arg-type]
    both = MarginalGain(compared(line=1.0), compared(line=1.0))
    assert student_text.work_on(both, KNOWN, METRES) == [
        "Where the ball starts: that brings you more short putts, and that saves you putts from far away."
    ]
    far = MarginalGain(compared(line=0.5, pace=0.5), compared(pace=1.0))
    assert student_text.work_on(far, KNOWN, METRES) == ["How far the ball rolls: that saves you putts from far away."]


def test_advice_turns_a_bias_round() -> None:
    """Whoever pushes is to start further to the pull side, and whoever rolls too far is to stop sooner."""
    push, pull, none = Estimate(0.4, 0.01, 0.8), Estimate(-0.4, -0.8, -0.01), Estimate(0.1, 0.0, 0.2)
    for bias, units, side in (
        (push, METRES, "left"),
        (pull, METRES, "right"),
        (push, LEFTY, "right"),
        (pull, LEFTY, "left"),
    ):
        found = student_text.advice(replace(KNOWN, line_bias=bias, pace_bias=none), units)
        assert found == [f"Start your putts a little further to the {side}."]
    for bias, words in (
        (push, "Let your putts stop a little sooner."),
        (pull, "Let your putts roll a little further."),
    ):
        assert student_text.advice(replace(KNOWN, line_bias=none, pace_bias=bias), METRES) == [words]
    assert student_text.advice(replace(KNOWN, line_bias=None, pace_bias=None), METRES) == []


# --- Changes ------------------------------------------------------------------------------------


def test_a_retest_is_named_from_eight_balls_on() -> None:
    again, few = CountRetest(8, 7), "Too few balls to show a change."
    seven, eight, ten = (coach_text.retest_share("Putts", Share(2, of), again, None, "holed") for of in (7, 8, 10))
    assert seven.note == few and ten.note.startswith("The same test of 10 would have to show 8 or more; a player")
    assert eight.note.startswith("The same test would have to show all 8; a player with about 7 of 8")
    never = coach_text.retest_share("Putts", Share(2, 10), CountRetest(10, None), 90, "holed").note
    assert never == (
        "The same test would have to show all 10; only a player who hardly ever misses gets there in 8 tests of 10. "
        "A fifth less error takes about 90 balls each time to show."
    )
    ratio = RatioRetest(0.6, 0.5)
    wanted = (
        "The same test of 8 would have to show 40% less pace error; a player with 50% less gets there in 8 tests of 10."
    )
    assert coach_text.retest_spread("Leaves", 7, ratio, None, "pace error").note == few
    assert coach_text.retest_spread("Leaves", 8, None, None, "pace error").note == few
    assert coach_text.retest_spread("Leaves", 8, ratio, None, "pace error").note == wanted
    assert coach_text.retest_spread("Leaves", 8, ratio, 159, "pace error").note == (
        f"{wanted} A fifth less takes about 159 balls each time to show."
    )


def test_a_change_is_given_with_what_it_may_be() -> None:
    spread = Change(Estimate(0.05, 0.04, 0.06), Estimate(0.1, 0.08, 0.12), Estimate(-0.5, -0.64, -0.25), True)
    share = Change(Estimate(0.8, 0.7, 0.9), Estimate(0.5, 0.4, 0.6), Estimate(0.3, 0.125, 0.475), False)
    for change, verdict, by in (
        (spread, "Better.", "a change by 25 to 64%"),
        (replace(spread, difference=Estimate(0.5, 0.25, 0.64)), "Worse.", "a change by 25 to 64%"),
        (share, "Better.", "a change by 12 to 48 points"),
        (replace(share, difference=Estimate(-0.3, -0.475, -0.125)), "Worse.", "a change by 12 to 48 points"),
        (replace(share, difference=Estimate(0.1, 0.0, 0.2)), "No change that so few balls could show.", ""),
    ):
        line = coach_text.change_line("Putts", change, "3 Mar 2026", percent, "Holed")
        assert (line.text, line.certainty) == (verdict, by)


# --- Assumptions --------------------------------------------------------------------------------


def test_the_prior_that_is_stated_is_95_percent_of_the_prior() -> None:
    low, high = norm.ppf([0.025, 0.975])[:, None] * PRIOR_SD[[0, 2]] + PRIOR_MEAN[[0, 2]]
    [text] = [words for words in assumptions.assumptions(METRES) if words.startswith("Before any ball")]
    assert f"start-line error of {exp(low[0]):.1f}° to {exp(high[0]):.1f}°" in text
    assert f"pace error of {100 * exp(low[1]):.0f}% to {100 * exp(high[1]):.0f}%" in text


def test_what_printed_errors_make_of_eight_feet_is_what_balls_of_such_a_player_do() -> None:
    """A hundred thousand balls, rolled by hand, of 1.5 degrees and 8.5 %; printed are 27 of 100."""
    rng, number, distance = np.random.default_rng(1), 100_000, 8 * 0.3048
    room = np.degrees(np.arcsin((0.10795 - 0.04267) / 2 / distance))
    stops = (distance + 0.3048) * (1 + rng.normal(0, ERRORS[1].pace, number)) - distance
    made = np.mean((np.abs(rng.normal(0, ERRORS[1].line_deg, number)) < room) & (stops > 0) & (stops < 0.9144))
    for units, where in ((FEET, "8 ft"), (METRES, "2.4 m")):
        text = assumptions.published_curve(ERRORS[1], CLUB_PLAYERS, units)
        assert text.startswith(f"The picture shows the printed putts of {CLUB_PLAYERS.whose}, 27% holed from {where};")
        assert float(text.split("make it ")[1].rstrip("%.")) == pytest.approx(100 * made, abs=1)


# --- Lengths ------------------------------------------------------------------------------------


def test_lengths_are_written_in_the_readers_unit() -> None:
    """An inch is 2.54 cm, a foot 30.48 cm; a step of 0.9 m: common practice, no source."""
    assert (METRES.overshot, FEET.overshot) == ("30 cm", "1 ft")
    assert METRES.step == "One step is about 0.9 m."
    assert FEET.step == "One step is about 3 ft."
    assert (unit_of("ft"), unit_of("m"), unit_of("")) == ("ft", "m", "m")
    for length_m, unit, shown in (
        (0.5, "m", "m"),
        (0.49, "m", "cm"),
        (0.7, "m", "m"),
        (0.3048, "ft", "ft"),
        (0.304, "ft", "in"),
        (0.5, "ft", "ft"),
        (0.5, "yd", "yd"),
        (0.02, "cm", "cm"),
    ):
        assert display_unit(length_m, unit) == shown  # type: ignore[arg-type]
    assert format_length(0.49, "m") == "49 cm" and format_lengths([3.0], "m") == "3 m"


def test_a_number_is_as_round_as_one_would_say_it() -> None:
    """To a hundredth below 20 as it was typed, to a tenth above; what is no such number, as roundly as 2 % allow."""
    for value, words in (
        (19.25, "19.25"),
        (20.25, "20"),
        (20.1, "20.1"),
        (19.999, "20"),
        (33.333, "33"),
        (9.84252, "10"),
        (4.4291, "4.5"),
        (1.3123, "1.3"),
        (0.2953, "0.3"),
        (25.43, "25"),
        (24.6063, "25"),
        (3.28084, "3.3"),
        (0.253, "0.25"),
    ):
        assert format_number(value) == words, value


def test_a_length_is_near_another_one_within_a_fifth() -> None:
    for length, other in ((4.99, "m"), (4.81, "m"), (4.79, None), (7.19, "m"), (7.21, None)):
        assert likely_unit(length, "ft", [6.0]) == other, length
    assert likely_unit(4.81, "m", [6.0]) is None and likely_unit(8.0, "ft", [2.0]) is None
