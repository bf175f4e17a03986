"""Marks and scores of drills at their bounds; the pages that show them: test_practice and test_practice_scores."""

from datetime import date, timedelta

import pytest

from drills.practice.marks import Mark, harder, read_mark, score_in_words
from drills.practice.scores import HEIGHT, LEFT, RIGHT, SHOWN, WIDTH, Score, Scores

DAY = date(2026, 6, 1)


def scores(*numbers: int, of: int | None = 10, apart: int = 1) -> list[Score]:
    return [Score(DAY + timedelta(days=apart * number), score, of) for number, score in enumerate(numbers)]


def test_a_mark_says_itself_in_a_few_words() -> None:
    marks = [Mark(8, 10), Mark(16, is_fewest=True), Mark(14), Mark(0, 10)]
    assert [mark.words for mark in marks] == ["8 of 10", "16 or fewer", "14 or more", "0 of 10"]
    assert [mark.most for mark in marks] == [10, 999, 999, 10]
    assert (score_in_words(8, 10), score_in_words(17, None), score_in_words(0, None)) == ("8 of 10", "17", "0")


@pytest.mark.parametrize(
    ("words", "next_words"),
    [
        ("Hole 2 putts or fewer.", "Hole 1 putts or fewer."),
        ("Hole 1 putt or fewer.", ""),
        ("Score 998 or more.", "Score 999 or more."),
        ("Score 999 or more.", ""),
        ("0 of 10 touch it.", "1 of 10 touch it."),
        ("10 of 10 lie on grass.", ""),
        ("9 of 9 and 3 of 4.", ""),
        ("3 of 4 and 9 of 9.", ""),
        ("8 of 18 holes", "9 of 18 holes"),
        ("1 of 11, 1 or more", "2 of 11, 1 or more"),
    ],
)
def test_the_next_mark_is_one_harder_while_there_is_one(words: str, next_words: str) -> None:
    assert harder(words) == next_words


def test_a_mark_with_two_numbers_of_balls_counts_the_first() -> None:
    assert read_mark("8 of 10 roll, 6 of 10 stop.") == Mark(8, 10, counts_more=True)
    assert read_mark("16 putts or fewer, 20 or more balls") == Mark(16, is_fewest=True)
    assert read_mark("10 of 10") == Mark(10, 10) and read_mark("11 of 10") is None


def test_only_the_latest_scores_out_of_as_many_are_kept_in_the_order_of_their_days() -> None:
    late = [Score(DAY + timedelta(days=number), number % 10, 10) for number in range(SHOWN + 5)]
    found = Scores.of(Mark(8, 10), [*reversed(late), *scores(7, of=12)])
    assert found.scores == tuple(late[5:]) and found.last == late[-1]
    assert found.latest_first == list(reversed(late[5:]))
    assert [score.words for score in (Score(DAY, 8, 10), Score(DAY, 17, None))] == ["8 of 10", "17"]


def test_last_best_and_mark_are_said_in_a_sentence() -> None:
    assert Scores.of(Mark(8, 10), scores(9, 6)).words == "Last 6, best 9. The mark is 8 of 10."
    assert Scores.of(Mark(16, is_fewest=True), scores(20, 18, of=None)).best == 18
    assert Scores.of(Mark(8, 10), []).words == "The mark is 8 of 10. No score yet."


def test_a_mark_is_due_after_the_last_three_days_with_a_score_whatever_came_before() -> None:
    """Of two scores on a day the later one counts; days without a score are none."""
    mark = Mark(8, 10)
    assert Scores.of(mark, scores(1, 8, 8, 8)).is_due_for_more(DAY)
    assert not Scores.of(mark, scores(8, 8, 8, 7)).is_due_for_more(DAY)
    assert Scores.of(mark, scores(8, 8, 8, apart=9)).is_due_for_more(DAY)
    assert Scores.of(mark, scores(7, 8, 8, 8)).is_due_for_more(DAY + timedelta(days=1))
    assert not Scores.of(mark, scores(7, 8, 8, 8)).is_due_for_more(DAY + timedelta(days=2))
    twice = [*scores(8, 8, 7), Score(DAY + timedelta(days=2), 9, 10)]
    assert Scores.of(mark, twice).is_due_for_more(DAY)


def test_the_first_score_stands_left_the_last_one_right_and_the_rest_by_their_days() -> None:
    picture = Scores.of(
        Mark(8, 10), [Score(DAY, 0, 10), Score(DAY + timedelta(days=1), 5, 10), Score(DAY + timedelta(days=4), 10, 10)]
    ).picture
    assert picture and (picture.first, picture.last, picture.mark) == (DAY, DAY + timedelta(days=4), 8)
    assert [dot.x for dot in picture.dots] == [LEFT, LEFT + (WIDTH - LEFT - RIGHT) / 4, WIDTH - RIGHT]
    lowest, middle, highest = (dot.y for dot in picture.dots)
    assert (lowest + highest) / 2 == middle == HEIGHT / 2 and lowest > highest
    assert picture.ends == ((0, lowest), (10, highest))
    assert picture.line == pytest.approx(lowest + 0.8 * (highest - lowest))


def test_without_a_number_of_balls_the_picture_reaches_from_the_least_to_the_most_with_the_mark() -> None:
    for numbers, mark, ends in (
        ((20, 18), 16, (16, 20)),
        ((12, 14), 13, (12, 14)),
        ((16, 16), 16, (15, 17)),
        ((16, 17), 16, (16, 17)),
    ):
        found = Scores.of(Mark(mark, is_fewest=True), scores(*numbers, of=None))
        assert found.range == ends, numbers
        assert found.picture and [number for number, _ in found.picture.ends] == list(ends)
    one_day = Scores.of(Mark(16), scores(10, 20, of=None, apart=0)).picture
    assert one_day and {dot.x for dot in one_day.dots} == {LEFT}, "two scores of one day"
