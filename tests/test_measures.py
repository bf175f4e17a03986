"""Measures: what a coach types is read as a number, asked about outside its limits, and two readings are told apart.

The step of a measure is how finely it can honestly be read: a reading is within one step of the truth. That is common
practice of the trade; that two readings may then differ by up to two steps with nothing changed follows. ISO 5725-6
(1994), 4.1, named from memory: two results of one method differ by more than 2.8 standard deviations in 1 of 20 pairs.
"""

from decimal import Decimal
from math import sqrt

import pytest

from lessons.measures import Measure, MeasureError, has_unit, is_change, limit_question, read_number

STANCE = Measure("stance width", "cm", Decimal(5), Decimal(80), Decimal(2))
WEIGHT = Measure("weight on the {lead} foot", "%", Decimal(20), Decimal(95), Decimal(10), by_eye=True)
BALL = Measure("ball ahead of the middle of the stance", "cm", Decimal(-15), Decimal(25), Decimal(2))
HOLD = Measure("finish held", "s", Decimal(0), Decimal(10), Decimal(1), usual=(Decimal(2), Decimal(4)))
FACE = Measure("face angle", "°", Decimal(-10), Decimal(10), Decimal(2))
WRIST = Measure("wrist", "°", Decimal(-1), Decimal(11), Decimal("0.5"))
AWAY = Measure("ball from the foot", "steps", Decimal(1), Decimal(9), Decimal(1))


@pytest.mark.parametrize(
    ("typed", "measure", "number"),
    [
        ("31", STANCE, "31"),
        (" 31 ", STANCE, "31"),
        ("31 cm", STANCE, "31"),
        ("31cm", STANCE, "31"),
        ("31 CM.", STANCE, "31"),
        ("31,5", STANCE, "31.5"),
        ("31.5 cm", STANCE, "31.5"),
        ("about 31cm", STANCE, "31"),
        ("~31", STANCE, "31"),
        ("ca. 31 centimetres", STANCE, "31"),
        ("60 %", WEIGHT, "60"),
        ("60 per cent", WEIGHT, "60"),
        ("60 percent", WEIGHT, "60"),
        ("-3", BALL, "-3"),
        ("−3 cm", BALL, "-3"),
        ("+3", BALL, "3"),
        ("0", HOLD, "0"),
        (".5 s", HOLD, "0.5"),
        ("2 sec", HOLD, "2"),
        ("2 seconds", HOLD, "2"),
        ("3°", FACE, "3"),
        ("3 degrees", FACE, "3"),
        ("100 %", WEIGHT, "100"),
        ("-1", WRIST, "-1"),
        ("1 step", AWAY, "1"),
    ],
)
def test_a_number_is_read_as_a_coach_types_it(typed: str, measure: Measure, number: str) -> None:
    assert read_number(typed, measure) == Decimal(number)


@pytest.mark.parametrize(
    ("typed", "measure", "message"),
    [
        ("-3", STANCE, "never below 0"),
        ("wide", STANCE, "Type a number, such as"),
        ("NaN", STANCE, "Type a number, such as"),
        ("inf", STANCE, "Type a number, such as"),
        ("31 32", STANCE, "Type one number only"),
        ("30-32", STANCE, "Type one number only"),
        ("1e99", STANCE, "Type one number only"),
        ("1.000,5", STANCE, "Type one number only"),
        ("12 in", STANCE, "Type the number in cm"),
        ("310 mm", STANCE, "Type the number in cm"),
        ("31.256", STANCE, "at most two digits after the point"),
        ("9" * 40, STANCE, "Type a smaller number"),
        ("٣١", STANCE, "Type a number, such as"),
        ("101", WEIGHT, "never above 100"),
        ("-5 s", HOLD, "never below 0"),
    ],
)
def test_what_cannot_be_read_gets_a_message_with_an_example(typed: str, measure: Measure, message: str) -> None:
    with pytest.raises(MeasureError) as refused:
        read_number(typed, measure)
    assert message in str(refused.value)


@pytest.mark.parametrize("measure", [STANCE, WEIGHT, BALL, HOLD, FACE])
def test_the_example_of_a_message_can_be_typed(measure: Measure) -> None:
    assert limit_question(read_number(measure.example, measure), measure) == ""


def test_the_example_lies_in_the_middle_of_what_is_usual_or_else_possible_and_not_below_nought() -> None:
    """Rounded down to what can be read; never nought, which tells nothing of how to type a number."""
    coarse = Measure("x", "cm", Decimal(0), Decimal(3), Decimal(2))
    by_example = {"42": STANCE, "50": WEIGHT, "12": BALL, "3": HOLD, "5.5": WRIST, "2": coarse}
    assert {measure.example: measure for measure in by_example.values()} == by_example


def test_a_number_outside_the_limits_is_asked_about_and_not_refused() -> None:
    question = limit_question(read_number("120", STANCE), STANCE)
    assert question == "120 cm is more than most (5 to 80 cm). Type it again, or tick to keep it."
    assert limit_question(Decimal(3), STANCE).startswith("3 cm is less than most (5 to 80 cm).")
    assert limit_question(Decimal(5), STANCE) == limit_question(Decimal(80), STANCE) == ""


def test_a_change_is_more_than_two_steps() -> None:
    assert is_change(Decimal(19), Decimal(31), STANCE) and is_change(Decimal(31), Decimal(19), STANCE)
    assert not is_change(Decimal(30), Decimal(31), STANCE)
    assert not is_change(Decimal(30), Decimal(34), STANCE) and is_change(Decimal(30), Decimal("34.5"), STANCE)
    assert not is_change(Decimal(50), Decimal(70), WEIGHT) and is_change(Decimal(50), Decimal(75), WEIGHT)


@pytest.mark.parametrize("measure", [STANCE, WEIGHT, HOLD])
def test_readings_within_a_step_of_one_truth_are_never_called_a_change(measure: Measure) -> None:
    truth = Decimal(40)
    misread = [truth + measure.step * Decimal(part) / 4 for part in range(-4, 5)]
    assert not any(is_change(one, other, measure) for one in misread for other in misread)


def test_two_steps_are_more_than_the_repeatability_limit_of_such_readings() -> None:
    """ISO 5725-6 (1994), 4.1, from memory: r = 1.96 √2 s, where 19 of 20 readings lie within a step: step = 1.96 s."""
    limit = Decimal(sqrt(2)) * STANCE.step
    assert not is_change(Decimal(30), 30 + limit, STANCE)


def test_a_value_is_written_with_its_unit() -> None:
    assert STANCE.value(Decimal("31.00")) == "31 cm" and STANCE.value(Decimal("31.50")) == "31.5 cm"
    assert WEIGHT.value(Decimal(60)) == "60%" and FACE.value(Decimal(-3)) == "−3°" and HOLD.value(Decimal(0)) == "0 s"


def test_one_step_is_not_one_steps() -> None:
    assert [AWAY.value(Decimal(number)) for number in (1, 2, 0)] == ["1 step", "2 steps", "0 steps"]


def test_a_unit_is_what_stands_behind_the_number() -> None:
    assert [has_unit(typed) for typed in ("31 cm", "31%", "31", " 31 ", "~5", "about 5")] == [True] * 2 + [False] * 4


def test_two_percentages_differ_by_points() -> None:
    assert WEIGHT.difference(Decimal(35)) == "35 points" and STANCE.difference(Decimal("12.00")) == "12 cm"


def test_the_label_names_the_unit_and_says_what_is_a_guess_by_eye() -> None:
    assert STANCE.label() == "Stance width, cm"
    assert WEIGHT.label() == "Weight on the lead foot (a guess by eye), %"
    assert (
        WEIGHT.name_for("right") == "Weight on the left foot" and WEIGHT.name_for("left") == "Weight on the right foot"
    )


def test_the_hint_says_how_finely_to_read_and_what_is_usual() -> None:
    assert STANCE.hint == "To about 2 cm."
    assert HOLD.hint == "To about 1 s. Usual: 2 to 4 s."


def test_a_number_that_cannot_be_stored_is_refused() -> None:
    assert read_number("9999.99", BALL) == Decimal("9999.99")
    for typed in ("10000", "-10000"):
        with pytest.raises(MeasureError, match="smaller number"):
            read_number(typed, BALL)
