"""Readings over time: what the sentence says, and that the picture never contradicts it."""

from datetime import date, timedelta
from decimal import Decimal
from itertools import pairwise

import pytest

from lessons.measures import Measure, is_change
from lessons.progress.picture import MIDDLE, SLOT
from lessons.progress.readings import (
    HEIGHT,
    TOO_CLOSE,
    MeasurePicture,
    Reading,
    change_words,
    latest_words,
    lesson_words,
    measure_picture,
)

STANCE = Measure("stance width", "cm", Decimal(5), Decimal(80), Decimal(2))
WEIGHT = Measure(
    "weight on the {lead} foot", "%", Decimal(20), Decimal(95), Decimal(10), True, (Decimal(60), Decimal(70))
)
FIRST = date(2026, 1, 5)


def over_time(*arrivals: int | None) -> list[Reading]:
    """One visit a week, with what was measured on each arrival."""
    weeks = (FIRST + timedelta(weeks=number) for number in range(len(arrivals)))
    return [
        Reading(day, None if number is None else Decimal(number)) for day, number in zip(weeks, arrivals, strict=True)
    ]


def drawn(*arrivals: int | None, measure: Measure = STANCE) -> MeasurePicture:
    found = measure_picture(over_time(*arrivals), measure)
    assert found
    return found


def test_from_19_to_31_is_a_change_and_from_30_to_31_is_not() -> None:
    assert change_words(over_time(19, 31), STANCE) == "On arrival 12 cm more than on 5 Jan 2026 (19 cm)."
    assert change_words(over_time(31, 19), STANCE) == "On arrival 12 cm less than on 5 Jan 2026 (31 cm)."
    assert change_words(over_time(30, 31), STANCE) == f"On arrival {TOO_CLOSE} since 5 Jan 2026 (30 cm)."


def test_what_changed_and_came_back_is_said() -> None:
    close = f"On arrival {TOO_CLOSE} since 5 Jan 2026 (42 cm)."
    assert change_words(over_time(42, 22, 31, 45), STANCE) == f"{close} In between 22 to 31 cm."
    assert change_words(over_time(42, 22, 45), STANCE) == f"{close} In between 22 cm."
    assert change_words(over_time(42, 44, 45), STANCE) == close


def test_the_sentence_compares_the_ends_of_what_the_picture_shows() -> None:
    shown = [20, *[None] * 10, 40]
    assert "(20 cm)" in change_words(over_time(80, *shown), STANCE)
    assert [bar.text for bar in drawn(80, *shown).bars] == ["20", "40"]


def test_one_reading_is_no_change() -> None:
    assert change_words(over_time(None, 31), STANCE) == "" == change_words([], STANCE)
    assert latest_words(over_time(19, 31, None), STANCE) == "31 cm on arrival, 12 Jan 2026"
    assert latest_words([Reading(FIRST, Decimal(31), Decimal(40))], STANCE) == (
        "31 cm on arrival, 40 cm on departure, 5 Jan 2026"
    )
    assert latest_words(over_time(None), STANCE) == ""


@pytest.mark.parametrize(
    ("arrival", "departure", "words"),
    [
        (31, 45, "31 cm when you came, 45 cm at the end"),
        (30, 31, f"30 cm when you came, 31 cm at the end: {TOO_CLOSE}"),
        (31, None, "31 cm when you came"),
        (None, 45, "45 cm at the end"),
    ],
)
def test_a_student_reads_what_was_measured_in_a_lesson(arrival: int | None, departure: int | None, words: str) -> None:
    numbers = (None if number is None else Decimal(number) for number in (arrival, departure))
    assert lesson_words(Reading(FIRST, *numbers), STANCE) == words


@pytest.mark.parametrize("measure", [STANCE, WEIGHT])
def test_bars_overlap_or_touch_just_where_no_change_is_called(measure: Measure) -> None:
    numbers = [30, 31, 34, 35, 19, 60, 70, 40]
    picture = drawn(*numbers, measure=measure)
    for (one, other), (first, second) in zip(pairwise(numbers), pairwise(picture.bars), strict=True):
        apart = first.bottom < second.top or second.bottom < first.top
        assert apart == is_change(Decimal(one), Decimal(other), measure), (one, other)


def test_each_reading_stands_below_its_own_arrival_and_a_greater_one_higher() -> None:
    first, second = drawn(19, None, 31).bars
    assert (first.x, second.x) == (MIDDLE, 2 * SLOT + MIDDLE)
    assert 0 <= second.top < second.y < second.bottom < first.top < first.bottom <= HEIGHT


def test_the_usual_range_is_drawn_to_the_scale_of_the_readings() -> None:
    picture = drawn(60, 70, 40, measure=WEIGHT)
    at_60, at_70, _ = (bar.y for bar in picture.bars)
    assert picture.usual == (at_70, at_60) and picture.usual_names == ("70", "60")
    assert drawn(19).usual is None


def test_a_picture_says_the_same_in_words_and_there_is_none_without_a_reading() -> None:
    assert drawn(19, None, 31).description == "5 Jan 2026 19 cm; 19 Jan 2026 31 cm."
    assert drawn(60, measure=WEIGHT).description == "5 Jan 2026 60%. Usual: 60 to 70%."
    assert measure_picture(over_time(None, None), STANCE) is None
    assert measure_picture(over_time(31, *[None] * 12), STANCE) is None, "not among the latest"
