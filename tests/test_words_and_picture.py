"""What is said of a history beside what its picture shows: neither may tell the reader the other is wrong.

Histories are made by hand or drawn from lives whose truth is known: faults that only become milder, that come back
late, pauses, a new coach, looks that stop.
"""

from datetime import timedelta
from random import Random

import pytest

from coachbook.loop.progress.for_student import what_got_better
from lessons.history import FaultHistory, JudgedHistory
from lessons.progress.calibration import OPENED
from lessons.progress.focus_states import Rules, Span
from lessons.progress.judgement import judge_all
from lessons.progress.opening import is_bad_day
from lessons.progress.points import LookPoint
from lessons.progress.scenarios import fading_student, replace_coach, seen_as, share_after_record, steady
from lessons.progress.sentences import reason
from lessons.progress.state_calibration import draw_seen, fortnightly
from lessons.progress.trend_sentences import plain_trend, trend_short, trend_words
from tests.test_points import FIRST, history, week
from tests.test_sentences import alone, by, says, trend_of
from tests.test_states import judged

# --- Degrees ------------------------------------------------------------------------------------


def test_a_picture_that_becomes_milder_is_told_with_its_degrees() -> None:
    """Clear on 10 of 12, then on 2 of 12, and seen as often: nothing is called, and the fall is not kept back."""
    words = trend_words(trend_of("m" + "mmmscmmmsmmm" + "msscsssssssm"))
    says(words, "Cannot tell yet", "11 of the first 12 looks (9 clear)", "11 of 12 (2 clear)", "a streak")


def test_always_there_and_seemingly_milder_is_both() -> None:
    words = trend_words(trend_of("m" + "mmsmmms" + "smsssss"))
    says(words, "Always there: seen on all 14 looks", "clear on 5 of the first 7, then on 1 of 7", "a streak")
    assert trend_words(trend_of("m" * 15)) == "Always there: seen on all 14 looks since it was opened."


def test_what_changes_in_degree_is_not_about_the_same() -> None:
    """Good every other time, and of the others first all clear, then all slight: half of the looks changed."""
    steady, milder = trend_of("m" + "mc" * 60), trend_of("m" + "mc" * 30 + "sc" * 30)
    assert trend_short(steady) == "about the same"
    assert "same" not in trend_words(milder) + trend_short(milder)


# --- How often ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("letters", "words"),
    [
        ("m" * 14 + "c" + "m" * 15, "Nearly always there: seen on 29 of 30 looks since it was opened."),
        ("c" * 14 + "s" + "c" * 15, "Seldom there: seen on 1 of 30 looks since it was opened."),
        ("m" * 6 + "c" + "m", "Cannot tell yet"),  # 7 of 8 is anything from a half to all
        ("m" * 14 + "c" + "m" * 11 + "cccc", "Cannot tell yet"),  # the picture falls in the end
    ],
)
def test_what_hardly_varies_is_said_although_no_change_can_be_told(letters: str, words: str) -> None:
    found = trend_of("m" + letters)
    assert trend_words(found).startswith(words)
    assert trend_short(found) == (words.split(":")[0].lower() if ":" in words else "cannot tell yet")


def test_few_looks_that_fall_are_told_by_their_halves() -> None:
    says(trend_words(trend_of("m" + "mmmm" + "cccc")), "Cannot tell yet", "4 of the first 4", "0 of 4", "too few looks")


# --- What comes back ----------------------------------------------------------------------------

CAME_BACK = {
    "m" * 19 + "ccccmccmccccccccmcc": "there",
    "m" * 19 + "ssssmssmssssssssmss": "clear",
    "c" * 19 + "mmmmcmmcmmmmmmmmcmm": "good",
}


@pytest.mark.parametrize("before", CAME_BACK)
def test_a_trend_is_over_where_the_last_three_looks_all_speak_against_it(before: str) -> None:
    how = CAME_BACK[before]
    again = "c" if how == "good" else "m"
    assert trend_of("m" + before).kind
    assert trend_of("m" + before + again * 2).kind, "two come by chance"
    found = trend_of("m" + before + again * 3)
    assert found.is_significant and not found.kind and "than" not in trend_short(found)
    begins = "Always there" if how == "clear" else "Cannot tell yet"
    says(trend_words(found), begins, f"it was {how} again on each of the last 3")
    assert plain_trend(found) == "Cannot tell yet whether it changes."


def test_a_late_relapse_is_never_called_rarer_while_its_last_looks_all_show_it() -> None:
    """Seen on nine looks of ten, then hardly ever, and again on the last three."""
    rng = Random(4)
    for _ in range(100):
        points = fortnightly([*draw_seen((0.9,) * 14 + (0.03,) * 14, 0.0, rng), True, True, True])
        found = alone(points, [Span(OPENED, None)]).trend
        assert found and found.kind in ("", "more often")


def test_a_student_whose_fault_returned_is_not_told_that_it_gets_better() -> None:
    points = history("m" + "m" * 12 + "c" * 14 + "mcm")
    [found] = judge_all([(points, [Span(FIRST, None)])], Rules())
    assert found.state and found.trend and (found.state.word, found.trend.kind) == ("returned", "rarer")
    told = FaultHistory("x", None, points, [Span(FIRST, None)], "right", 1)  # type: ignore[arg-type]
    assert what_got_better(JudgedHistory(told, found)) == ""


# --- Eyes and looks -----------------------------------------------------------------------------


def test_a_coach_who_came_late_in_the_later_half_is_named() -> None:
    """Half of the later looks are by somebody who made none of the first: no streak has to explain the fall."""
    words = trend_words(by("m" + "m" * 21 + "c" * 7, ["Ida"] * 22 + ["Cai"] * 7))
    says(words, "Cannot tell yet", "7 of 14", "Cai made more of the later looks than of the first")


def test_nothing_is_about_the_same_across_two_coaches() -> None:
    words = trend_words(by("m" + "mc" * 60, ["Ida"] * 61 + ["Cai"] * 60))
    assert "same:" not in words and "Cai" in words


def test_a_state_that_a_new_eye_gave_says_so() -> None:
    points = history("m" + "m" * 8 + "c" * 8)
    mixed = [replace_coach(point, "Cai") if n > 8 else point for n, point in enumerate(points)]
    says(reason(judged(mixed)), "good on 8 arrivals in a row", "; rated by Cai, who rated none before")
    assert "rated" not in reason(judged(points))
    once = [replace_coach(point, "Cai") if n == 3 else point for n, point in enumerate(mixed)]
    assert "rated" not in reason(judged(once))
    assert "rated" not in reason(judged([replace_coach(point, "Cai") for point in points]))


def test_arrivals_without_a_look_up_to_now_are_said() -> None:
    says(reason(judged(history("mmcmc" + "---"))), "looked at on 4 arrivals", "not looked at on the last 3 arrivals")
    assert "not looked at" not in reason(judged(history("mmcmc" + "--")))
    assert "not looked at" not in reason(judged(history("mmcmc---"), [Span(FIRST, week(6))])), "a coach closed it"


# --- Picked on a bad day ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("before", "after", "is_bad"),
    [
        ("", "cccc", True),
        ("", "mcmc", True),
        ("", "mmmmcccc", False),  # it stayed, and then went
        ("cccc", "cccc", True),
        ("mcmc", "mmmm", True),
        ("mmmm", "cccc", False),  # it was there each time, so the day was as any other
        ("mm", "cccc", True),  # two looks say nothing of what was usual
        ("cccc" + "m" * 8, "cccc", False),  # long ago
    ],
)
def test_a_bad_day_is_worse_than_those_around_it(before: str, after: str, is_bad: bool) -> None:
    points = history(before + "m" + after)
    assert is_bad_day(points, week(len(before))) is is_bad
    opening = [seen_as(point, None) if point.day == week(len(before)) else point for point in points]
    assert not is_bad_day(opening, week(len(before))), "good on that day"
    assert not is_bad_day(points, week(len(before)) + timedelta(days=1)), "nobody looked on that day"


def test_looks_that_are_left_out_say_nothing_of_the_day() -> None:
    points: list[LookPoint] = history("c-m-m-m" + "m" + "cccc")
    assert is_bad_day(points, week(7)) is True  # of the four looks before, one was good


def test_a_fall_to_what_was_usual_before_it_was_opened_is_not_called() -> None:
    """Half of the looks before and after, and a bad spell on which it was opened: it only went back."""
    after = "mmmmmmmcmmm" + "ccmccccccmcc"
    assert trend_of("m" + after).kind == "rarer"
    seldom, often = (alone(history(f"{b}m{after}"), [Span(week(8), None)]).trend for b in ("mcccmccc", "mmmmmcmm"))
    assert seldom and often and often.kind == "rarer"
    says(trend_words(seldom), "Cannot tell yet", "it was seen on 2 of the last 8 looks before it was opened")


def test_a_bad_spell_before_the_opening_brings_no_false_change_and_costs_little() -> None:
    """Ten looks before a focus is opened on one that sees it, each look copying the last with one half."""
    steady_ones = share_after_record(steady(0.4), 24, 0.5, tries=300)
    fading = share_after_record(fading_student(), 30, 0.0, tries=300)
    assert steady_ones <= 0.03 and fading >= 0.45, (steady_ones, fading)
