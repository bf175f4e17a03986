"""Marks read from words, scores held against them, and scores that were typed as words before they were numbers."""

import importlib
from datetime import date, timedelta
from types import SimpleNamespace

import pytest
from django.apps import apps
from django.db import connection

from drills.models import Drill, PracticeEntry
from drills.practice.marks import Mark, harder, read_mark
from drills.practice.scores import HEIGHT, Score, Scores
from lessons.models import Focus
from tests.conftest import Cast
from tests.library import load_library
from tests.make import make_lesson, make_prescription

migration = importlib.import_module("drills.migrations.0007_scores")
DAY = date(2026, 6, 1)


@pytest.mark.parametrize(
    ("words", "mark", "next_words"),
    [
        ("9 of 10 touch no tee.", Mark(9, 10), "10 of 10 touch no tee."),
        ("In 4 of the 5 pitches it stands.", Mark(4, 5), "In 5 of the 5 pitches it stands."),
        ("6 of your 10 usual putts drop.", Mark(6, 10), "7 of your 10 usual putts drop."),
        ("10 of 10 lie on grass.", Mark(10, 10), ""),
        ("In 9 of 10 none, and 6 of 10 calls are true.", Mark(9, 10, counts_more=True), ""),
        ("9 places in 27 strokes or fewer.", Mark(27, is_fewest=True), "9 places in 26 strokes or fewer."),
        ("You score 14 or more with 12 balls.", Mark(14), "You score 15 or more with 12 balls."),
        ("12 of 10 is no mark.", None, ""),
        ("A row of at least four clean chips.", None, ""),
        ("", None, ""),
    ],
)
def test_a_mark_is_read_from_words(words: str, mark: Mark | None, next_words: str) -> None:
    assert read_mark(words) == mark
    assert harder(words) == next_words


def test_what_is_met_and_best_follows_which_way_is_better() -> None:
    more, fewer = Mark(9, 10), Mark(16, is_fewest=True)
    assert [more.is_met_by(8), more.is_met_by(9), more.best([3, 8])] == [False, True, 8]
    assert [fewer.is_met_by(17), fewer.is_met_by(16), fewer.best([20, 17])] == [False, True, 17]


@pytest.mark.django_db
def test_most_marks_of_the_library_are_numbers_that_a_next_one_can_be_made_of() -> None:
    """A next mark is itself a mark, one harder, and the words around it stay."""
    load_library()
    marks = [drill.mark for drill in Drill.objects.all()]
    assert sum(read_mark(words) is not None for words in marks) > 0.9 * len(marks)
    for words in filter(harder, marks):
        old, new = read_mark(words), read_mark(harder(words))
        assert old and new and abs(new.count - old.count) == 1 and new.of == old.of and not new.is_met_by(old.count)


def days(*scores: int, of: int | None = 10, apart: int = 1) -> list[Score]:
    return [Score(DAY + timedelta(days=apart * number), score, of) for number, score in enumerate(scores)]


@pytest.mark.parametrize(
    ("scores", "is_due"),
    [
        (days(8, 8, 8), True),
        (days(3, 8, 9, 10), True),
        (days(8, 8), False),
        (days(8, 8, 7), False),
        (days(8, 8, 8, apart=0), False),
        (days(8, 8, 8, of=12), False),
        ([], False),
    ],
)
def test_a_mark_is_due_to_be_raised_after_three_days_in_a_row_at_it(scores: list[Score], is_due: bool) -> None:
    assert Scores.of(Mark(8, 10), scores).is_due_for_more(DAY) == is_due


def test_days_before_the_drill_was_given_do_not_count() -> None:
    assert not Scores.of(Mark(8, 10), days(8, 8, 8)).is_due_for_more(DAY + timedelta(days=1))


def test_the_picture_puts_days_to_scale_and_better_scores_higher() -> None:
    scores = [Score(DAY, 2, 10), Score(DAY + timedelta(days=3), 8, 10), Score(DAY + timedelta(days=4), 10, 10)]
    picture = Scores.of(Mark(8, 10), scores).picture
    assert picture
    first, second, third = picture.dots
    assert (second.x - first.x) == pytest.approx(3 * (third.x - second.x), abs=0.2)
    assert first.y > second.y == picture.line > third.y
    assert [number for number, _ in picture.ends] == [0, 10]


def test_the_picture_leaves_as_much_room_below_the_least_as_above_the_most() -> None:
    picture = Scores.of(Mark(8, 10), days(2, 5, 9)).picture
    assert picture is not None
    (_, lowest), (_, highest) = picture.ends
    assert lowest > highest > 0 and lowest + highest == pytest.approx(HEIGHT)


def test_one_score_or_the_same_count_twice_draws_without_dividing_by_nothing() -> None:
    assert Scores.of(Mark(8, 10), days(5)).picture is None
    alike = Scores.of(Mark(16, is_fewest=True), days(16, 16, of=None, apart=0)).picture
    assert alike and alike.dots[0] == alike.dots[1]


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("8 of 10", (8, 10)),
        (" 8/10 ", (8, 10)),
        ("8 Out of 10.", (8, 10)),
        ("0 of 10", (0, 10)),
        ("17", (17, None)),
        ("12 of 10", None),
        ("0 of 0", None),
        ("about 8 of 10", None),
        ("8 of 10, then 9", None),
        ("8.5", None),
        ("1000", None),
        ("eight", None),
    ],
)
def test_a_score_typed_as_words_is_carried_over_only_where_it_is_one_number(
    typed: str, read: tuple[int, int | None] | None
) -> None:
    assert migration.read(typed) == read


@pytest.mark.django_db
def test_the_migration_carries_numbers_over_in_rows_and_history_and_keeps_words(cast: Cast) -> None:
    lesson = make_lesson(cast.student, cast.coach)
    focus = Focus.objects.create(student=cast.student, slot=1, area="putting", what="x", opened_in=lesson)
    given = make_prescription(lesson, focus)
    for words in ("8 of 10", "8/10", "17", "windy"):
        given.entries.create(day=DAY, amount=5, score_words=words)
    migration.carry_over(apps, SimpleNamespace(connection=connection))
    for rows in (PracticeEntry.objects, PracticeEntry.history):
        stored = list(rows.order_by("id").values_list("score", "score_of", "score_words"))
        assert stored == [(8, 10, ""), (8, 10, ""), (17, None, ""), (None, None, "windy")]
    migration.carry_back(apps, SimpleNamespace(connection=connection))
    assert list(given.entries.order_by("id").values_list("score_words", flat=True)) == [
        *("8 of 10", "8 of 10", "17", "windy")
    ]
