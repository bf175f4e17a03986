"""What is said by luck of students whose fault is steady, and how much of what is true: the marks set for the states.

All draws have a seed; `manage.py calibrate` draws more.
"""

from datetime import timedelta
from itertools import accumulate, pairwise
from random import Random

import pytest

from lessons.progress.baseline import chances_anyway
from lessons.progress.focus_states import Rules
from lessons.progress.held import Held, outcomes
from lessons.progress.held_sentences import held_words, whether_held
from lessons.progress.judgement import Judgement, judge_all
from lessons.progress.picture import rows
from lessons.progress.points import LookPoint
from lessons.progress.sentences import seen_words
from lessons.progress.state_calibration import (
    HALF,
    OPEN,
    OPENED,
    RELAPSE,
    WORKS,
    draw_changes,
    draw_seen,
    draw_selective,
    fortnightly,
    mean_held,
    share_ever,
    share_withheld,
    state_rows,
)
from lessons.progress.trend_sentences import whether_changed
from lessons.progress.words import COACH, STUDENT, coach_words
from tests.test_held import lessons
from tests.test_points import history

STUDENTS = 300


def judged(points: list[LookPoint]) -> Judgement:
    [found] = judge_all([(points, OPEN)], Rules())
    return found


# --- States -------------------------------------------------------------------------------------


def test_a_fault_that_is_steadily_seen_on_half_is_seldom_called_ready_to_close() -> None:
    """Three good in a row over 28 days, the rule of before, come to 79 % when arrivals are two weeks apart."""
    assert share_ever("ready_to_close", HALF, copied=0, students=STUDENTS, seed=1) <= 0.10


def test_a_relapse_is_called_returned() -> None:
    assert share_ever("returned", RELAPSE, 0, STUDENTS // 2, 2, since=len(RELAPSE) - WORKS) >= 0.80


def test_a_fault_that_stays_rare_is_seldom_called_returned() -> None:
    assert share_ever("returned", RELAPSE[:-WORKS], 0, STUDENTS // 2, 2) <= 0.15


@pytest.mark.parametrize("a_day", [2, 3, 6])
def test_many_looks_of_one_day_are_one_look(a_day: int) -> None:
    """Whatever the first look of each day shows, those after it change no word."""
    rng = Random(a_day)
    for _ in range(20):
        first = fortnightly(draw_seen(HALF, 0, rng))
        crowded = [
            point if n == 0 else LookPoint(point.day, True, None if point.seen else "clear", "")
            for point in first
            for n in range(a_day)
        ]
        states = [judged(points).state for points in (first, crowded)]
        assert states[0] and states[1] and states[0].word == states[1].word


def test_a_streak_copies_the_look_before_it() -> None:
    rng = Random(7)
    same = [sum(a == b for a, b in pairwise(row)) / 199 for row in streaks(0.5, rng)]
    assert sum(same) / len(same) == pytest.approx(0.75, abs=0.02)  # half copied, and half of the others alike


def streaks(copied: float, rng: Random) -> list[list[bool]]:
    return [draw_seen([0.5] * 200, copied, rng) for _ in range(40)]


# --- Changes that held --------------------------------------------------------------------------


@pytest.mark.parametrize("rate", [0.2, 0.5, 0.8])
def test_where_nothing_carries_over_as_many_are_said_to_look_good_anyway_as_held(rate: float) -> None:
    held, anyway = mean_held(rate, carried=0, students=STUDENTS, seed=3)
    assert held == pytest.approx(1 - rate, abs=0.03)
    assert anyway == pytest.approx(held, abs=0.07)


def test_what_carries_over_half_of_the_time_hardly_looks_good_anyway() -> None:
    """The truth is 10 %: arrivals that follow a change, most of which it made good, say little of it."""
    held, anyway = mean_held(0.9, carried=0.5, students=STUDENTS, seed=3)
    assert held > 0.5 and anyway <= 0.15


@pytest.mark.parametrize(("rate", "carried"), [(0.9, 0.5), (0.9, 1.0), (0.7, 0.8)])
def test_what_carries_over_is_not_counted_as_good_anyway(rate: float, carried: float) -> None:
    """Of the changes that held only so many would have, too: what the lessons added is at least half visible."""
    held, anyway = mean_held(rate, carried, students=STUDENTS // 2, seed=4)
    assert held - anyway >= 0.5 * (held - (1 - rate))


def test_both_counts_stand_in_one_sentence() -> None:
    """By hand: 2.9 of 5."""
    words = held_words(Held(4, 0, 1), anyway=2.9)
    assert words.endswith(
        "4 held, none held partly, 1 was lost by the next arrival; about 3 of 5 would have looked good anyway."
    )
    assert "hardly any would have looked good anyway" in held_words(Held(4, 0, 1), 0.2)
    assert "too few other arrivals to say" in held_words(Held(2, 0, 0))
    assert "anyway" not in held_words(Held(0, 0, 3), 0.5), "where nothing held there is nothing to explain"
    assert held_words(Held(1, 0, 0), 0.62).endswith("about 6 of 10 would have looked good anyway.")


def test_arrivals_that_follow_no_change_say_how_often_it_is_good_by_itself() -> None:
    """Clear, changed, good; and then as often clear as good without any change."""
    found = judged(lessons("mc mc c- m- c- m- c- mc c- m- c-"))
    assert found.anyway is not None and 0.4 <= found.anyway / found.held.total <= 0.7
    assert found.held.total == 3 and "about 1 of 3 would have looked good anyway" in whether_held(found)


def test_a_day_picked_for_being_bad_says_nothing_of_other_days() -> None:
    """All that is left beside the opening day, the change and its arrival is two looks: too few to say anything."""
    points = lessons("mm mc c- c- c-")
    assert points[0].day == OPENED
    assert judged(points).anyway is None


def plainly_anyway(points: list[LookPoint]) -> list[float | None]:
    """The same by the definition: of the arrivals around each change, how many were as good, one after the other."""
    looked = [point for n, point in enumerate(points) if point.looked and not any(seen_before(points, n))]
    picks, found = {OPENED}, list[float | None]()
    for result in outcomes(points):
        changed, now = points[result.before], points[result.now]
        place = [point.day for point in looked].index(now.day)
        good, weights = 0.0, 0.0
        around = [(n, each) for n, each in enumerate(looked) if abs(n - place) <= 5]
        others = [(n, each) for n, each in around if each.day not in {*picks, changed.day, now.day}]
        for n, each in others:
            weight = 0.5 / len(others) + (n == 0 or not looked[n - 1].changed)
            good += weight * (each.level == "0" or each.level == changed.departure == "1")
            weights += weight
        found.append(good / weights if len(others) >= 3 else None)
    return found


def seen_before(points: list[LookPoint], place: int) -> list[bool]:
    """Which earlier arrivals of the same day were looked at."""
    return [other.looked and other.day == points[place].day for other in points[:place]]


def test_what_would_have_been_good_anyway_is_what_the_definition_says() -> None:
    """Of 400 drawn histories, with days of two arrivals, arrivals without a look, and all degrees."""
    rng, compared = Random(12), 0
    for _ in range(400):
        words = [rng.choice("mmsscu-") + rng.choice("cccs-") for _ in range(rng.randrange(1, 30))]
        points = lessons(" ".join(words), list(accumulate(rng.choice((0, 7, 7, 7, 14)) for _ in words)))
        found = chances_anyway(points, outcomes(points), [OPENED])
        assert found == pytest.approx(plainly_anyway(points), abs=1e-12)
        compared += len(found)
    assert compared >= 1000


# --- Selective looks ----------------------------------------------------------------------------


@pytest.mark.parametrize("arrivals", [12, 16, 20])
def test_noted_only_when_bad_is_withheld(arrivals: int) -> None:
    assert share_withheld(0.5, arrivals, STUDENTS, 5) == 1.0


def test_the_share_stands_in_no_sentence_and_in_no_picture() -> None:
    rng = Random(8)
    for _ in range(30):
        points = draw_selective(0.5, 12, rng)
        found = judged(points)
        if not 3 <= found.total.looked <= 9:
            continue
        said = [coach_words(points), whether_changed(found), seen_words(found), STUDENT.summary(points)]
        assert "not known" in said[0] and "look on the good days" in said[0]
        assert not any(f"{found.total.seen} of the {found.total.looked}" in words or "lways" in words for words in said)
        assert all(row.count is None for labels in (COACH, STUDENT) for row in rows(points, labels))


def test_changes_cannot_be_called_lost_where_only_bad_days_are_noted() -> None:
    points = lessons("mc -- mc -- -- mc -- -- mc -- -- -- m-")
    found = judged(points)
    assert found.held.lost == 4 and found.state and found.state.word == "in_progress"
    assert "not known" in whether_held(found) and "lost" not in whether_held(found)


def test_looked_at_on_nearly_all_arrivals_keeps_its_share() -> None:
    assert "Seen on 12 of the 12 arrivals" in coach_words(history("m" * 12))
    assert "Seen on 11 of the 11 arrivals" in coach_words(history("m" * 8 + "-mmm"))


# --- All of it ----------------------------------------------------------------------------------


def test_every_row_of_the_calibration_is_a_share_and_the_marks_are_met() -> None:
    for row in state_rows(60):
        assert 0 <= row.value <= 1
        if row.mark[0] in "<>":
            limit = float(row.mark.strip("<>=% ")) / 100
            assert row.value <= limit if row.mark.startswith("<=") else row.value >= limit, row


def test_a_change_may_carry_over_to_the_next_arrival_and_no_further() -> None:
    assert [point.seen for point in draw_changes(1.0, 1.0, 6, Random(1))] == [True, False] * 3
    assert all(point.day > OPENED + timedelta(days=1) for point in draw_changes(1.0, 0.0, 3, Random(1)))


def test_the_simulated_looks_are_two_weeks_apart_after_the_opening() -> None:
    days = [point.day for point in fortnightly([True, False, True])]
    assert [(day - OPENED).days for day in days] == [14, 28, 42]
