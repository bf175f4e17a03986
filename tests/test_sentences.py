"""What a coach and a student read of histories made by hand: the numbers and the words on which a sentence turns.

Percentages are those of Wilson's interval, as Brown, Cai & DasGupta (2001), Stat. Sci. 16, 101-133, write it, by hand.
"""

import re
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessons.progress.focus_states import Rules, Span
from lessons.progress.held import Held
from lessons.progress.held_sentences import held_numbers, held_words
from lessons.progress.intervals import Interval, Share
from lessons.progress.judgement import Judgement, Trend, judge_all
from lessons.progress.points import LookPoint, count_looks
from lessons.progress.sentences import (
    PLAIN,
    STATES,
    changed_words,
    degrees_words,
    plain_state,
    plain_trend,
    points_words,
    reason,
    rules_words,
    share_words,
    trend_numbers,
    trend_short,
    trend_words,
)
from tests.test_held import lessons
from tests.test_points import FIRST, history, week
from tests.test_states import judged, on_days

OPEN = [Span(FIRST, None)]


def alone(points: list[LookPoint], spans: list[Span] = OPEN) -> Judgement:
    [found] = judge_all([(points, spans)], Rules())
    return found


def trend_of(letters: str, begins: date = FIRST) -> Trend:
    found = alone(history(letters, begins=begins), [Span(begins, None)]).trend
    assert found
    return found


def says(text: str, *parts: str) -> None:
    """The text holds all of these, in this order."""
    place = 0
    for part in parts:
        assert part in text[place:], f"{part!r} is not, or not here, in {text!r}"
        place = text.index(part, place) + len(part)


# --- Shares -------------------------------------------------------------------------------------


def test_from_eight_looks_on_a_share_has_its_percentage_and_interval() -> None:
    """5 of 10 is 24-76 %: the trade's own example."""
    assert share_words(Share(5, 7)) == "5 of 7"
    says(share_words(Share(5, 10)), "5 of 10", "50%", "24 to 76%")
    says(share_words(Share(0, 8)), "0 of 8", "0%", "0 to 32%")  # z² / (8 + z²) = 3.84 / 11.84
    says(share_words(Share(8, 8)), "8 of 8", "100%", "68 to 100%")


@given(st.integers(0, 7), st.integers(0, 7))
def test_no_percentage_of_few_looks(seen: int, more: int) -> None:
    share = Share(seen, seen + more)
    assert ("%" in share_words(share)) is (share.of >= 8)


def test_the_interval_of_a_difference_is_given_in_points_with_a_minus() -> None:
    assert points_words(Interval(-0.125, 0.4)) == "−12 to 40 points"


def test_degrees_are_listed_the_clearest_first_and_none_that_was_not_seen() -> None:
    assert degrees_words(count_looks(history("mscsc"))) == "1 clear, 2 slight, 2 good"
    says(degrees_words(count_looks(history("uc"))), "1 not graded", "1 good")


# --- Trends -------------------------------------------------------------------------------------


def test_rarer_says_since_when_and_both_halves() -> None:
    """Opened on 5 January 2026; looks from 12 January to 9 March, then from 16 March to 4 May."""
    says(
        trend_words(trend_of("m" + "mmmmmmmms" + "cccccccc")),
        *("Rarer", "from January to March", "unlikely to be chance", "9 of the first 9", "0 of 8"),
    )


def test_milder_where_it_is_seen_as_often_or_nearly() -> None:
    """Ten clear, then ten slight; and ten clear, then nine slight and one good: rarer by one look only."""
    for then, seen in (("s" * 10, 10), ("s" * 9 + "c", 9)):
        says(
            trend_words(trend_of("m" + "m" * 10 + then)),
            *("Milder", "unlikely to be chance", "10 of the first 10", "10 clear", f"{seen} of 10", "none clear"),
        )


def test_more_often_and_clearer_and_what_looks_the_same() -> None:
    """A coach who became stricter would write down the same."""
    often, clearer = trend_words(trend_of("m" + "c" * 9 + "m" * 9)), trend_words(trend_of("m" + "s" * 9 + "m" * 9))
    says(often, "More often", "0 of the first 9", "9 of 9", "stricter eye looks the same as a worse swing")
    says(clearer, "Clearer", "9 of the first 9", "9 of 9", "stricter eye looks the same as a worse swing")


def test_the_year_is_named_where_it_is_another() -> None:
    letters = "m" + "m" * 9 + "c" * 9
    says(trend_words(trend_of(letters, date(2025, 10, 6))), "Rarer", "from October 2025 to December 2025")
    says(trend_words(trend_of(letters, date(2026, 3, 1))), "Rarer", "from March to May,")


def test_what_cannot_be_told_yet_is_said_with_the_counts() -> None:
    words = trend_words(trend_of("m" + "mcsc" * 4))
    says(words, "Cannot tell yet", "4 of the first 8", "4 of 8", "too few for a small change")
    assert "chance" not in words


def test_a_picture_that_falls_is_not_contradicted() -> None:
    """The strip falls from 8 of 8 to 3 of 8: the sentence says what could look like that."""
    words = trend_words(trend_of("m" + "m" * 8 + "mccmmccc"))
    says(words, "Cannot tell yet", "8 of the first 8", "3 of 8", "a streak could look like that")
    assert "too few" not in words and "same" not in words


def test_about_the_same_only_where_a_change_of_thirty_points_is_excluded() -> None:
    """Half of 120 looks, then half: the interval of 60 and 60 looks reaches 18 points, of 10 and 10 it reaches 40."""
    says(trend_words(trend_of("m" + "mc" * 60)), "About the same", "30 of the first 60", "30 of 60")
    says(trend_words(trend_of("m" + "mc" * 10)), "Cannot tell yet")


def test_what_was_seen_on_every_look_is_always_there() -> None:
    says(trend_words(trend_of("m" + "m" * 30)), "Always there", "all 30 looks")
    assert trend_short(trend_of("m" + "m" * 30)) == "always there"


def test_what_was_looked_at_on_few_arrivals_is_not_always_there() -> None:
    """Twelve looks in 23 arrivals: what the others would have shown, nobody knows."""
    found = trend_of("m" + "-m" * 12)
    says(trend_words(found), "Seen on all 12 looks", "24 arrivals")
    assert "lways" not in trend_words(found) and "lways" not in trend_short(found)


def test_the_order_of_the_looks_has_two_p_values() -> None:
    """Four clear, then four slight: S by hand is −16, of 2 x 4! 4! / 8! orders; with streaks it decides nothing."""
    words = dict(trend_numbers(trend_of("mmmmmssss")))["Order of the looks"]
    says(words, "S = −16 over 8 looks, below 0 is better; p 0.029, exact", "streaks and repeated reading")
    assert trend_of("mmmmmssss").sequential.p > 0.05


# --- Coaches ------------------------------------------------------------------------------------


def by(letters: str, coaches: list[str]) -> Trend:
    points = [
        LookPoint(point.day, point.looked, point.degree, coach)
        for point, coach in zip(history(letters), coaches, strict=True)
    ]
    found = alone(points).trend
    assert found
    return found


def test_another_coach_in_the_later_half_is_named_and_nothing_is_called() -> None:
    """Nine looks of one coach, all clear, then nine of another, all good: nobody can tell the eye from the swing."""
    words = trend_words(by("m" + "m" * 9 + "c" * 9, ["Ida"] * 10 + ["Cai"] * 9))
    says(words, "Cannot tell yet", "9 of the first 9", "0 of 9", "Cai", "eye looks the same as a change in the swing")


def test_coaches_who_alternate_do_not_hide_a_change() -> None:
    """Each of them saw it fade."""
    says(trend_words(by("m" + "m" * 12 + "c" * 12, ["Ida"] + ["Ida", "Cai"] * 12)), "Rarer", "12 of the first 12")


def test_faults_that_all_grow_worse_together_may_be_a_stricter_eye() -> None:
    page = [history("m" + "c" * 10 + "m" * 10)] * 3
    for found in judge_all([(points, OPEN) for points in page], Rules()):
        assert found.trend
        says(trend_words(found.trend), "More often", "Other faults go the same way", "stricter eye")


def test_looks_of_one_day_are_one_look() -> None:
    """Three looks a day are as many as one: the first of them."""
    three = [point for point in history("m" + "m" * 5 + "c" * 5) for _ in range(3)]
    assert trend_words(alone(three).trend) == trend_words(trend_of("m" + "m" * 5 + "c" * 5))


@pytest.mark.parametrize("letters", ["m", "mm", "mcc-m", "mmmmccc"])
def test_too_few_looks_is_said_and_no_direction(letters: str) -> None:
    words = trend_words(trend_of(letters))
    says(words, "Cannot tell yet", "too few looks")
    assert not {"Rarer", "Milder", "Clearer", "More"} & {*words.split()}


def test_good_throughout_is_said_with_the_number_of_looks() -> None:
    says(trend_words(trend_of("m" + "c" * 6)), "Good on all 6")


# --- Changes ------------------------------------------------------------------------------------


def numbers(text: str) -> list[int]:
    """The whole numbers of a sentence, none being 0."""
    words = re.findall(r"\bnone\b|\d+", text)
    return [0 if word == "none" else int(word) for word in words]


def test_one_change_is_named_by_its_outcome() -> None:
    """Clear, good, slight is partly held and not lost."""
    held, partly, lost = (held_words(alone(lessons(words)).held) for words in ("mc c-", "mc s-", "mc m-"))
    assert "held" in held and "partly" not in held and "was lost" not in held
    assert "held partly" in partly and "was lost" not in partly
    assert "was lost" in lost and "held" not in lost
    assert held_words(Held()) == ""


def test_changes_are_counted_held_partly_lost() -> None:
    words = held_words(Held(3, 2, 1))
    says(words, "6 changes", "held", "held partly", "lost", "by the next arrival")
    assert numbers(words) == [6, 3, 2, 1]
    assert numbers(held_words(Held(0, 2, 0))) == [2, 0, 2, 0]


def test_from_eight_changes_on_what_held_has_an_interval_apart_from_the_sentence() -> None:
    assert held_numbers(Held(4, 1, 2)) == ""
    says(held_words(Held(5, 3, 2)), "10 changes", "5 held", "3 held partly", "2 were lost")
    says(held_numbers(Held(5, 3, 2)), "5 of 10", "50%", "24 to 76%")
    assert "%" not in held_words(Held(5, 3, 2))


def test_a_departure_names_who_rated_it() -> None:
    few = changed_words(alone(lessons("mc mc ss")))
    assert "rated by the coach who taught it" in few and numbers(few) == [3, 3, 1]
    assert "chance" not in few and "%" not in few
    assert changed_words(alone(history("mm"))) == ""


def test_a_change_within_lessons_is_weighed_from_eight_on() -> None:
    """Eight of eight, one way: 2 of 256 ways; four of four among eight: 2 of 16."""
    clear, unclear = (changed_words(alone(lessons(words))) for words in ("mc " * 8, "mc " * 4 + "mm " * 4))
    assert numbers(clear)[:3] == [8, 8, 0] and numbers(unclear)[:3] == [8, 8, 4]
    assert "unlikely to be chance" in clear
    assert "chance" in unclear and "unlikely" not in unclear


# --- States -------------------------------------------------------------------------------------


def test_each_state_gives_its_reason() -> None:
    says(reason(judged(history("ms"))), "5 Jan 2026", "1 arrival since")
    says(reason(judged(history("mss-s"))), "5 Jan 2026", "3 arrivals since")
    says(reason(judged(history("m"))), "5 Jan 2026", "not looked at since")
    says(reason(judged(lessons("mc mc mc m-"))), "last 3 changes", "lost by the next arrival")
    says(reason(judged(on_days(7, 21))), "5 Jan 2026", "2 arrivals since", "good on the last 2")
    says(reason(judged(on_days(7, 14, 21, 28, 35))), "good on 5 arrivals in a row", "28 days")
    says(reason(judged(history("m" + "c" * 9))), "good on 9 arrivals in a row", "56 days")
    says(reason(judged(history("m" + "c" * 9 + "sccc"))), "good on 12 of the last 13 arrivals", "84 days", "the last 3")
    says(reason(judged(on_days(7, 7, 7, 14))), "2 arrivals since", "counting one arrival a day")
    says(reason(judged(history("mcc"), [Span(FIRST, week(2))])), "on 19 Jan 2026")
    says(reason(judged(history("mccs"), [Span(FIRST, week(2))])), "on 19 Jan 2026", "seen on 1 arrival since")
    says(reason(judged(history("mccss"), [Span(FIRST, week(2))])), "closed on 19 Jan 2026", "seen on 2 arrivals since")
    says(reason(judged(history("mccccccccss"))), "ready to close on 2 Mar 2026", "seen on 2 arrivals since")
    says(
        reason(judged(history("mccss" + "c" * 8 + "s"), [Span(FIRST, week(2))])),
        *("ready to close again on 30 Mar 2026", "seen on 1 arrival since"),
    )


def test_the_rules_have_an_academy_s_own_numbers_and_every_word_once() -> None:
    rules = dict(rules_words(Rules(new_looks=11, lost=12, holding=13, ready=14, ready_days=15, returned=16)))
    assert sorted(rules) == sorted(STATES.values())
    says(rules["ready to close"], "14 arrivals", "none of 8", "1 of 13", "2 of 17", "15 days")
    says(rules["holding"], "13 arrivals", "none of 5", "1 of 8", "2 of 11")
    assert "a coach closed it" in rules["closed"] and "12 changes" in rules["does not hold"]
    assert "13 arrivals" in rules["holding"] and "16 arrivals" in rules["returned"] and "11 arrivals" in rules["new"]


# --- To a student -------------------------------------------------------------------------------


@given(st.text("msuc-", max_size=30))
def test_a_student_reads_no_word_of_the_trade_and_no_number(letters: str) -> None:
    found = alone(history(letters))
    assert found.state and found.trend
    read = f"{plain_state(found.state)} {plain_trend(found.trend)}".lower()
    assert not [
        word for word in ("fault", "clear", "slight", "arrival", "lost", "worse", "bad", "not good") if word in read
    ]
    assert not any(letter.isdigit() for letter in read)


def test_a_student_reads_every_state_in_words_of_its_own() -> None:
    assert PLAIN.keys() == STATES.keys() and len({*PLAIN.values()}) == len(PLAIN)


def test_a_student_reads_that_it_gets_better_only_where_the_coach_reads_it() -> None:
    assert "etter" in plain_trend(trend_of("m" + "m" * 9 + "c" * 9))
    for letters in ("mccc" + "m" * 16, "m" + "mcsc" * 4, "mcc", "m", ""):
        assert "etter" not in plain_trend(trend_of(letters))
