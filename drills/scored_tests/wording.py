"""Balls and tests in plain words and counts, never percentages; left and right as the player sees them."""

import re
from collections.abc import Sequence
from itertools import groupby
from statistics import median_high

from drills.models import Ball, Design, ScoredTest
from drills.putting.lengths import format_length, format_number
from drills.putting.units import METRES, Unit
from lessons.progress.sentences import FEW

PLACE = {True: "hole", False: "line"}
STEP_UNITS: tuple[Unit, ...] = ("step", "ft", "m")
SIDES_OF_MISS = {  # push and pull as a player of either side sees them
    "right": {"push": "right", "pull": "left"},
    "left": {"push": "left", "pull": "right"},
}


def aim_words(test: Design | ScoredTest, unit: Unit) -> str:
    """Where each putt is meant to stop; empty where it is not meant to stop anywhere."""
    aim = aim_place(test, unit)
    return f"Each putt is meant to stop {aim}.{middle_of_zone(test)}" if aim else ""


def child_aim_words(test: Design | ScoredTest, unit: Unit) -> str:
    """The same for a child."""
    place = PLACE[design_of(test).has_hole]
    if not design_of(test).has_aim:
        return ""
    if not test.aim_m:
        return f"Try to stop each ball right at the {place}."
    return (
        f"Let each ball roll a little past the {place}: about {format_length(test.aim_m, unit)}.{middle_of_zone(test)}"
    )


def aim_place(test: Design | ScoredTest, unit: Unit) -> str:
    """The aim of a test alone: "at the line", "30 cm past the hole"; empty where there is none."""
    place = PLACE[design_of(test).has_hole]
    if not design_of(test).has_aim:
        return ""
    return f"{format_length(test.aim_m, unit)} past the {place}" if test.aim_m else f"at the {place}"


def middle_of_zone(test: Design | ScoredTest) -> str:
    """What an aim past a line is where two lines make a zone."""
    return " Between two lines, that is the middle." if test.aim_m and not design_of(test).has_hole else ""


def design_of(test: Design | ScoredTest) -> Design:
    """The design of a test, or the design itself."""
    return test.design if isinstance(test, ScoredTest) else test


def side_for_miss(test: ScoredTest, miss: str) -> str:
    """Push or pull as the player sees it, left or right; empty if not recorded."""
    return SIDES_OF_MISS[test.side].get(miss, "")


def miss_for_side(test: ScoredTest, side: str) -> str:
    """Left or right as it is stored, push or pull; empty if not recorded."""
    return next((stored for stored, seen in SIDES_OF_MISS[test.side].items() if seen == side), "")


def step_unit(test: ScoredTest) -> Unit | None:
    """The unit whose length is the test's step."""
    return next((unit for unit in STEP_UNITS if abs(METRES[unit] - test.step_m) < 1e-6), None)


def in_steps(test: ScoredTest, length_m: float) -> str:
    """A length in the steps of a test: "2 steps", "½ step", "3 ft"."""
    unit = step_unit(test)
    if unit is None:
        return format_length(length_m, "m")
    number = format_number(length_m / METRES[unit])
    word = re.sub(r"^0?(\d*)\.5$", r"\1½", number)
    return f"{word} {('step' if number in ('0.5', '1') else 'steps') if unit == 'step' else unit}"


def leave_words(test: ScoredTest, leave_m: float) -> str:
    """Where a ball stopped, seen from the hole or line."""
    if test.design.kind == Design.Kind.CHIPS:
        return f"{in_steps(test, leave_m)} away"
    if not leave_m:
        return "level"
    return f"{in_steps(test, abs(leave_m))} {'past' if leave_m > 0 else 'short'}"


def ball_words(test: ScoredTest, ball: Ball) -> str:
    """The result of one ball."""
    if ball.leave_m is not None:
        return leave_words(test, ball.leave_m)
    side = side_for_miss(test, ball.miss)
    if ball.result in (Ball.Result.HOLED, Ball.Result.THROUGH):
        return str(ball.result)
    if ball.result == Ball.Result.BESIDE:
        return side or "beside, side not seen"
    return " ".join(filter(None, [ball.length, side])) or "missed, not seen"


def summarise_test(test: ScoredTest, unit: Unit) -> str:
    """The result of a test, in counts."""
    return summarise_balls(test, list(test.balls.all()), unit)


def summarise_balls(test: ScoredTest, balls: list[Ball], unit: Unit) -> str:
    """The result of a test with these balls, in counts."""
    if not balls:
        return "no ball yet"
    if test.design.kind == Design.Kind.GATE:
        return gate_words(test, balls)
    if test.design.kind == Design.Kind.COUNTED:
        return counted_words(balls, unit)
    return leaves_words(test, balls, unit)


def gate_words(test: ScoredTest, balls: Sequence[Ball]) -> str:
    """How many went through, and where the others went."""
    sides = [side_for_miss(test, ball.miss) for ball in balls if ball.result == Ball.Result.BESIDE]
    others = [(sides.count("left"), "left"), (sides.count("right"), "right"), (sides.count(""), "beside")]
    through = f"{count_of(balls, Ball.Result.THROUGH)} through"
    return ", ".join([through, *(f"{number} {word}" for number, word in others if number)])


def counted_words(balls: Sequence[Ball], unit: Unit) -> str:
    """How many were holed, in all and from each distance."""
    stations = by_distance(balls)
    whole = f"holed {count_of(balls)}"
    if len(stations) == 1:
        return f"{whole} from {format_length(balls[0].distance_m, unit)}"
    return f"{whole}: " + ", ".join(
        f"{count_of(group)} from {format_length(distance, unit)}" for distance, group in stations
    )


def leaves_words(test: ScoredTest, balls: Sequence[Ball], unit: Unit) -> str:
    """The leaves from each distance, nearest first."""
    stations = by_distance(balls)
    return "; ".join(
        f"of {len(group)} from {format_length(distance, unit)}: {station_words(test, group)}"
        for distance, group in stations
    )


def station_words(test: ScoredTest, balls: Sequence[Ball]) -> str:
    """Within what half of the balls from one distance stopped, how many on each side, and how many were holed."""
    sides = [] if test.design.kind == Design.Kind.CHIPS else [leave_side(ball.leave_m) for ball in balls]
    counts = [(sides.count(word), word) for word in ("short", "level", "past")]
    holed = sum(ball.result == Ball.Result.HOLED for ball in balls)
    parts = [f"{number} {word}" for number, word in counts if number]
    near = [half_words(test, balls)] if len(balls) >= FEW or not sides else []
    return ", ".join([*near, *parts, *([f"{holed or 'none'} holed"] if test.design.has_hole else [])])


def leave_side(leave_m: float | None) -> str:
    """Short, level or past; empty for a ball that was holed."""
    if leave_m is None:
        return ""
    return "past" if leave_m > 0 else "short" if leave_m < 0 else "level"


def half_words(test: ScoredTest, balls: Sequence[Ball]) -> str:
    """The distance within which half of the balls stopped, holed ones included; level means within half a step."""
    middle = median_high(abs(ball.leave_m or 0) for ball in balls)
    return f"half within {in_steps(test, max(middle, test.step_m / 2))}"


def by_distance(balls: Sequence[Ball]) -> list[tuple[float, list[Ball]]]:
    """The balls from each distance, nearest first."""
    ordered = sorted(balls, key=lambda ball: (ball.distance_m, ball.number))
    return [(distance, list(group)) for distance, group in groupby(ordered, key=lambda ball: ball.distance_m)]


def count_of(balls: Sequence[Ball], result: str = Ball.Result.HOLED) -> str:
    """How many of the balls have this result: "14 of 20"."""
    return f"{sum(ball.result == result for ball in balls)} of {len(balls)}"
