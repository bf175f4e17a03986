"""Actions on scored tests, each with effect once; the meaning of a tap; and a test in plain counts.

Left and right: a push goes to the right for a right-side player and to the left for a left-side player. Common practice
of the trade, no source.
"""

import itertools
from collections.abc import Callable
from typing import Any

import pytest
from django.utils import timezone

from coachbook.accounts.models import Student
from drills.models import Ball, Design, ScoredTest
from drills.scored_tests.observations import observations_of
from drills.scored_tests.recording.pad import pad_for, read_tap
from drills.scored_tests.recording.scoring import (
    AlreadyNoted,
    BallSeen,
    ScoringError,
    SetUp,
    begin_test,
    finish_test,
    has_no_balls,
    note_ball,
    undo_ball,
    void_test,
)
from drills.scored_tests.wording import summarise_test
from tests.conftest import Cast
from tests.library import load_library
from tests.make import academy_today, fresh_key

HOLED = BallSeen("holed")
Begin = Callable[..., ScoredTest]


@pytest.fixture
def begin(cast: Cast) -> Begin:
    """Begin a test of one of the designs that ship."""
    load_library()

    def begin(code: str = "putting-leaves", **values: Any) -> ScoredTest:
        design = Design.objects.get(code=code)
        values = {"day": academy_today(), "step_m": 0.9, "width_m": design.width_m, **values}
        set_up = SetUp(design=design, **values)
        return begin_test(key=fresh_key(), student=cast.student, set_up=set_up, by=cast.coach.user)[0]

    return begin


def hit(test: ScoredTest, *words: str, distance_m: float | None = None) -> None:
    """Note balls by the words of their buttons."""
    for word in words:
        distance = distance_m or test.design.distances_m[0]
        seen = read_tap(test, distance, word)
        note_ball(test=test, number=test.balls.count() + 1, distance_m=distance, seen=seen)


# --- Begin, note, undo, finish ------------------------------------------------------------------


def test_a_test_is_begun_once_with_the_side_of_its_area(begin: Begin, cast: Cast) -> None:
    Student.objects.filter(pk=cast.student.pk).update(putting_side="left")
    cast.student.refresh_from_db()
    test = begin("putting-gate", width_m=0.07)
    assert (test.side, test.width_m, test.by, test.moment) == ("left", 0.07, cast.coach.user, "home")
    set_up = SetUp(design=test.design, day=test.day, step_m=0.9, width_m=0.07)
    again, is_new = begin_test(key=test.key, student=cast.student, set_up=set_up, by=cast.manager)
    assert not is_new and again == test and again.by == cast.coach.user
    assert ScoredTest.history.count() == 1, "the same set-up sent again is no change"
    assert begin("chipping-proximity").side == "right"


def test_the_set_up_may_change_until_the_first_ball(begin: Begin, cast: Cast) -> None:
    test = begin("putting-gate")

    def set_up(width_m: float) -> ScoredTest:
        values = SetUp(design=test.design, day=test.day, step_m=0.9, width_m=width_m)
        return begin_test(key=test.key, student=cast.student, set_up=values, by=cast.coach.user)[0]

    assert set_up(0.06).width_m == 0.06 and has_no_balls(test)
    hit(test, "through")
    assert set_up(0.10).width_m == 0.06 and not has_no_balls(test)


def test_sixty_taps_in_twenty_numbers_are_twenty_balls(begin: Begin) -> None:
    test = begin()
    for number in range(1, 21):
        new = [note_ball(test=test, number=number, distance_m=6.0, seen=HOLED)[1] for _ in range(3)]
        assert new == [True, False, False]
    assert [ball.number for ball in test.balls.all()] == list(range(1, 21))


def test_a_replay_long_after_meets_its_own_ball(begin: Begin) -> None:
    test = begin()
    hit(test, "2", "holed", "-1")
    ball, is_new = note_ball(test=test, number=1, distance_m=6.0, seen=read_tap(test, 6.0, "2"))
    assert not is_new and ball.leave_m == pytest.approx(1.8) and test.balls.count() == 3


def test_other_words_for_a_number_lose_neither(begin: Begin) -> None:
    test = begin()
    hit(test, "2")
    with pytest.raises(AlreadyNoted) as noted:
        note_ball(test=test, number=1, distance_m=6.0, seen=HOLED)
    assert noted.value.ball.leave_m == pytest.approx(1.8) and test.balls.get().result == "missed"


def test_a_ball_out_of_order_is_refused(begin: Begin) -> None:
    test = begin()
    with pytest.raises(ScoringError, match="Ball 1 comes before ball 2"):
        note_ball(test=test, number=2, distance_m=6.0, seen=HOLED)


def test_a_double_tap_on_undo_removes_one_ball(begin: Begin) -> None:
    test = begin()
    hit(test, "holed", "1", "2")
    assert [undo_ball(test=test, number=3) for _ in range(2)] == [True, False]
    assert not undo_ball(test=test, number=1), "only the last ball is removed"
    assert test.balls.count() == 2


def test_nothing_hit_is_nothing_to_finish(begin: Begin) -> None:
    test = begin()
    with pytest.raises(ScoringError, match="No ball is noted yet"):
        finish_test(test=test, at=timezone.now())


def test_a_finished_test_gains_and_loses_no_ball(begin: Begin) -> None:
    test = begin()
    hit(test, "holed")
    at = timezone.now()
    assert [finish_test(test=test, at=at), finish_test(test=test, at=timezone.now())] == [True, False]
    assert ScoredTest.objects.get().done_at == at
    for late in (
        lambda: note_ball(test=test, number=2, distance_m=6.0, seen=HOLED),
        lambda: undo_ball(test=test, number=1),
    ):
        with pytest.raises(ScoringError, match="finished"):
            late()
    assert not note_ball(test=test, number=1, distance_m=6.0, seen=HOLED)[1], "a replay of a stored ball is no new one"


def test_an_undone_test_is_kept_and_no_longer_counts(begin: Begin) -> None:
    test = begin()
    hit(test, "holed")
    finish_test(test=test, at=timezone.now())
    assert list(ScoredTest.objects.done()) == [test]
    assert [void_test(test=test), void_test(test=test)] == [True, False]
    assert not ScoredTest.objects.done() and Ball.objects.count() == 1
    with pytest.raises(ScoringError, match="undone"):
        note_ball(test=test, number=2, distance_m=6.0, seen=HOLED)


def test_every_change_is_kept(begin: Begin) -> None:
    test = begin()
    hit(test, "holed")
    finish_test(test=test, at=timezone.now())
    void_test(test=test)
    assert [row.history_type for row in ScoredTest.history.all()] == ["~", "~", "+"]


# --- The meaning of a tap -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("side", "tap", "stored"),
    [("right", "right", "push"), ("right", "left", "pull"), ("left", "left", "push"), ("left", "right", "pull")],
)
def test_left_and_right_are_stored_from_the_players_own_side(side: str, tap: str, stored: str, begin: Begin) -> None:
    gate, counted = begin("putting-gate"), begin("putting-counted")
    gate.side = counted.side = side
    assert read_tap(gate, 1.0, tap) == BallSeen("beside", miss=stored)
    assert read_tap(counted, 1.0, f"short-{tap}") == BallSeen("missed", length="short", miss=stored)


@pytest.mark.parametrize(
    ("code", "word", "far", "seen"),
    [
        ("putting-leaves", "2", "", BallSeen("missed", "past", leave_m=1.8)),
        ("putting-leaves", "-3", "", BallSeen("missed", "short", leave_m=-2.7)),
        ("putting-leaves", "0", "", BallSeen("missed", leave_m=0.0)),
        ("putting-leaves", "past", "5", BallSeen("missed", "past", leave_m=4.5)),
        ("putting-leaves", "short", "4,5", BallSeen("missed", "short", leave_m=-4.05)),
        ("putting-leaves", "holed", "", BallSeen("holed")),
        ("putting-ladder", "0", "", BallSeen("missed", leave_m=0.0)),
        ("chipping-proximity", "0.5", "", BallSeen("missed", leave_m=0.45)),
        ("chipping-proximity", "away", "9", BallSeen("missed", leave_m=8.1)),
        ("putting-gate", "through", "", BallSeen("through")),
        ("putting-gate", "beside", "", BallSeen("beside")),
        ("putting-counted", "missed", "", BallSeen("missed")),
        ("putting-counted", "past", "", BallSeen("missed", "past")),
    ],
)
def test_a_tap_is_stored_as_it_was_meant(code: str, word: str, far: str, seen: BallSeen, begin: Begin) -> None:
    assert read_tap(begin(code), 6.0, word, far) == seen


@pytest.mark.parametrize(
    ("code", "word", "far", "why"),
    [
        ("putting-leaves", "", "", "Tap"),
        ("putting-leaves", "through", "", "Tap"),
        ("putting-leaves", "nan", "", "Tap"),
        ("putting-leaves", "past", "", "Type a number"),
        ("putting-leaves", "past", "far", "Type a number"),
        ("putting-leaves", "past", "inf", "Type a number"),
        ("putting-leaves", "past", "-4", "above 0"),
        ("putting-leaves", "past", "999", "cannot be noted"),
        ("putting-leaves", "short", "8", "behind where it lay"),
        ("putting-ladder", "holed", "", "Tap"),
        ("chipping-proximity", "-1", "", "cannot be noted"),
        ("chipping-proximity", "0", "", "cannot be noted"),
        ("putting-gate", "holed", "", "Tap"),
        ("putting-counted", "1", "", "Tap"),
    ],
)
def test_an_impossible_tap_says_why(code: str, word: str, far: str, why: str, begin: Begin) -> None:
    with pytest.raises(ScoringError, match=why):
        read_tap(begin(code), 6.0, word, far)


def test_every_button_of_every_pad_can_be_stored_and_counted(begin: Begin) -> None:
    for code, step in itertools.product(Design.objects.values_list("code", flat=True), (0.9, 0.3048, 1.0)):
        test = begin(code, step_m=step)
        for distance in test.design.distances_m:
            words = [key.word for row in pad_for(test, distance).rows for key in row]
            assert len(words) == len(set(words))
            hit(test, *words, distance_m=distance)
        observations_of(test)
        assert summarise_test(test, "m")


def test_no_button_offers_a_ball_behind_where_it_lay(begin: Begin) -> None:
    pad = pad_for(begin(), 1.0)
    assert [key.word for key in pad.rows[-1]] == ["-1", "-2"], "a putt of 1 m in steps of 0.9 m"
    assert [far.word for far in pad.further] == ["past"]


# --- Results ------------------------------------------------------------------------------------


def test_counts_of_a_gate_from_either_side(begin: Begin) -> None:
    test = begin("putting-gate")
    test.side = "left"
    test.save()
    hit(test, *["through"] * 14, *["left"] * 4, "right", "beside")
    assert summarise_test(test, "m") == "14 of 20 through, 4 left, 1 right, 1 beside"


def test_counts_of_putts_from_each_distance(begin: Begin) -> None:
    test = begin("putting-counted")
    hit(test, *["holed"] * 9, "short")
    assert summarise_test(test, "m") == "holed 9 of 10 from 1 m"
    hit(test, *["holed"] * 2, "past-left", distance_m=3.0)
    assert summarise_test(test, "m") == "holed 11 of 13: 9 of 10 from 1 m, 2 of 3 from 3 m"
    assert summarise_test(test, "ft") == "holed 11 of 13: 9 of 10 from 3.3 ft, 2 of 3 from 10 ft"


def test_leaves_are_counted_and_from_eight_balls_on_the_middle_one_is_given(begin: Begin) -> None:
    test = begin()
    hit(test, "holed", "-2", "1", "3")
    assert summarise_test(test, "m") == "of 4 from 6 m: 1 short, 2 past, 1 holed"
    hit(test, "2", "-1", "0")
    assert summarise_test(test, "m") == "of 7 from 6 m: 2 short, 1 level, 3 past, 1 holed"
    hit(test, "2")
    assert summarise_test(test, "m") == "of 8 from 6 m: half within 2 steps, 2 short, 1 level, 4 past, 1 holed"


def test_balls_that_stopped_level_are_within_half_a_step(begin: Begin) -> None:
    test = begin()
    hit(test, *["0"] * 8)
    assert summarise_test(test, "m") == "of 8 from 6 m: half within ½ step, 8 level, none holed"


def test_a_ladder_has_counts_for_each_distance_and_none_holed(begin: Begin) -> None:
    test = begin("putting-ladder", step_m=0.3048)
    hit(test, "1", "1", "2", distance_m=3.0)
    hit(test, "0", "-1", "-3", distance_m=12.0)
    assert summarise_test(test, "m") == "of 3 from 3 m: 3 past; of 3 from 12 m: 2 short, 1 level"


def test_chips_are_counted_by_how_far_away(begin: Begin) -> None:
    test = begin("chipping-proximity")
    hit(test, "0.5", "0.5", "4", "holed")
    assert summarise_test(test, "m") == "of 4 from 10 m: half within ½ step, 1 holed"


def test_one_who_holed_all_left_nothing(begin: Begin) -> None:
    test = begin()
    hit(test, "holed", "holed")
    assert summarise_test(test, "m") == "of 2 from 6 m: 2 holed"
