"""Doses against a calendar counted by hand: 1 June 2026 is a Monday. Doses are common practice, with no source."""

from datetime import date

import pytest

from drills.practice.doses import (
    course_in_words,
    day_of,
    dose_in_words,
    dose_until,
    first_day,
    format_amount,
    sessions_asked,
    week_in_words,
    week_of,
)

THURSDAY = date(2026, 6, 4)


@pytest.mark.parametrize(
    ("on", "sessions"),
    [
        (date(2025, 6, 4), 0),
        (date(2026, 6, 2), 0),
        (date(2026, 6, 3), 0),  # the day before
        (date(2026, 6, 4), 0),
        (date(2026, 6, 5), 0),
        (date(2026, 6, 6), 1),  # three days of seven: 9/7
        (date(2026, 6, 8), 2),  # five of seven: 15/7
        (date(2026, 6, 9), 2),
        (date(2026, 6, 10), 3),  # the first whole week
        (date(2026, 6, 17), 6),
        (date(2026, 7, 1), 12),  # four whole weeks
        (date(2026, 7, 2), 12),  # 29 days: 87/7, rounded down
        (date(2026, 7, 3), 13),  # the last day: 90/7 is 12.86
        (date(2026, 7, 4), 13),
        (date(2027, 1, 1), 13),
    ],
)
def test_thirty_days_at_three_a_week_ask_for_thirteen_sessions(on: date, sessions: int) -> None:
    assert sessions_asked(THURSDAY, 30, 3, None, on) == sessions


@pytest.mark.parametrize(
    ("days", "per_week", "sessions"), [(1, 3, 0), (1, 7, 1), (5, 2, 1), (6, 2, 2), (7, 2, 2), (10, 3, 4), (365, 1, 52)]
)
def test_a_whole_dose_is_rounded_to_the_nearest(days: int, per_week: int, sessions: int) -> None:
    assert sessions_asked(THURSDAY, days, per_week, None, date(2030, 1, 1)) == sessions


@pytest.mark.parametrize(
    ("ended_on", "sessions"),
    [
        (date(2026, 6, 4), 0),  # replaced on the very day it began
        (date(2026, 6, 11), 3),  # a week was over
        (date(2026, 7, 3), 12),  # one day short of the whole
        (date(2026, 7, 4), 13),
        (date(2026, 12, 1), 13),
    ],
)
def test_nothing_is_asked_for_from_the_day_it_was_ended(ended_on: date, sessions: int) -> None:
    assert sessions_asked(THURSDAY, 30, 3, ended_on, date(2026, 12, 24)) == sessions


def test_every_day_asks_for_one_a_day() -> None:
    assert [sessions_asked(THURSDAY, 5, 7, None, date(2026, 6, day)) for day in range(3, 11)] == [
        0,
        1,
        2,
        3,
        4,
        5,
        5,
        5,
    ]


def test_what_is_asked_for_never_shrinks() -> None:
    for per_week in range(1, 8):
        for days in range(1, 40):
            sums = [sessions_asked(THURSDAY, days, per_week, None, date(2026, 6, day)) for day in range(1, 31)]
            assert sums == sorted(sums)


def test_days_count_from_one() -> None:
    assert [day_of(THURSDAY, day) for day in (THURSDAY, date(2026, 6, 15), date(2026, 7, 3))] == [1, 12, 30]


@pytest.mark.parametrize(
    ("on", "first", "last"),
    [
        (date(2026, 6, 4), date(2026, 6, 4), date(2026, 6, 10)),
        (date(2026, 6, 10), date(2026, 6, 4), date(2026, 6, 10)),
        (date(2026, 6, 11), date(2026, 6, 11), date(2026, 6, 17)),
        (date(2026, 6, 28), date(2026, 6, 25), date(2026, 7, 1)),
        (date(2026, 7, 9), date(2026, 7, 9), date(2026, 7, 15)),  # and on after the dose is done
    ],
)
def test_a_week_goes_from_the_weekday_of_the_lesson(on: date, first: date, last: date) -> None:
    assert week_of(THURSDAY, on) == (first, last)


@pytest.mark.parametrize(
    ("dose", "words"),
    [
        ((10, "minutes", 3, 30), "10 minutes, 3 times a week, for 30 days"),
        ((1, "minutes", 1, 1), "1 minute, once a week, for 1 day"),
        ((30, "balls", 2, 14), "30 balls, twice a week, for 14 days"),
        ((8, "successes", 7, 30), "8 successes, every day, for 30 days"),
        ((1, "successes", 7, 30), "1 success, every day, for 30 days"),
    ],
)
def test_a_dose_in_words(dose: tuple[int, str, int, int], words: str) -> None:
    assert dose_in_words(*dose) == words


def test_a_dose_that_has_begun_says_until_when() -> None:
    assert dose_until(20, "balls", 3, date(2026, 12, 17)) == "20 balls, 3 times a week, until 17 December"
    assert dose_until(1, "minutes", 7, date(2026, 1, 2)) == "1 minute, every day, until 2 January"


def test_one_ball_is_not_one_balls() -> None:
    assert (format_amount(1, "balls"), format_amount(0, "balls"), format_amount(12, "balls")) == (
        "1 ball",
        "0 balls",
        "12 balls",
    )


def test_more_than_was_asked_for_is_stated_without_praise() -> None:
    assert week_in_words(0, 3) == "0 of 3 this week"
    assert week_in_words(2, 3) == "2 of 3 this week"
    assert week_in_words(3, 3) == "3 of 3 this week"
    assert week_in_words(5, 3) == "5 this week; 3 planned"


@pytest.mark.parametrize(
    ("on", "words"),
    [
        (date(2026, 6, 4), "Day 1 of 30."),
        (date(2026, 6, 15), "Day 12 of 30."),
        (date(2026, 7, 3), "Day 30 of 30."),
        (date(2026, 7, 4), "Your 30 days are done; keep it going until you see your coach."),
        (date(2026, 9, 1), "Your 30 days are done; keep it going until you see your coach."),
    ],
)
def test_the_day_of_a_dose_in_words(on: date, words: str) -> None:
    assert course_in_words(THURSDAY, 30, date(2026, 7, 4), on) == words


def test_one_week_holds_for_all_drills_and_is_counted_from_the_newest() -> None:
    on, older = date(2026, 6, 12), date(2026, 6, 1)  # a Friday and a Monday
    assert first_day([THURSDAY, older], on) == date(2026, 6, 11)
    assert first_day([older], on) == date(2026, 6, 8)
    assert first_day([], on) == on, "without a drill it begins today"


def test_on_the_day_of_the_review_the_day_of_the_dose_is_enough() -> None:
    assert course_in_words(THURSDAY, 30, date(2026, 6, 11), date(2026, 6, 11)) == "Day 8 of 30."


def test_a_review_before_the_days_are_over_promises_nothing_done() -> None:
    words = course_in_words(THURSDAY, 30, date(2026, 6, 11), date(2026, 6, 12))
    assert words == "Day 9 of 30; keep it going until you see your coach."


def test_one_day_is_done() -> None:
    assert course_in_words(THURSDAY, 1, date(2026, 6, 5), date(2026, 6, 6)).startswith("Your 1 day is done;")
