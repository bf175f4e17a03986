"""Balls and tests in plain words and counts: left and right from the player's own side, no shares of a hundred."""

import re
from collections.abc import Sequence
from itertools import groupby
from statistics import median

from drills.lengths import shown, tidy
from drills.models import Ball, Design, ScoredTest
from drills.putting.units import METRES, Unit

STEP_UNITS: tuple[Unit, ...] = ("pace", "ft", "m")
WAYS = {  # push and pull as a player of either side sees them
    "right": {"push": "right", "pull": "left"},
    "left": {"push": "left", "pull": "right"},
}


def way(test: ScoredTest, away: str) -> str:
    """Push or pull as the player sees it, left or right; nothing where nobody said."""
    return WAYS[test.side].get(away, "")


def away(test: ScoredTest, way: str) -> str:
    """Left or right as it is stored, push or pull; nothing where nobody said."""
    return next((stored for stored, seen in WAYS[test.side].items() if seen == way), "")


def step_unit(test: ScoredTest) -> Unit | None:
    """The unit whose length is the test's step."""
    return next((unit for unit in STEP_UNITS if abs(METRES[unit] - test.step_m) < 1e-6), None)


def in_steps(test: ScoredTest, length_m: float) -> str:
    """A length in the steps of a test: "2 steps", "½ step", "3 ft"."""
    unit = step_unit(test)
    if unit is None:
        return shown(length_m, "m")
    number = tidy(length_m / METRES[unit])
    word = re.sub(r"^0?(\d*)\.5$", r"\1½", number)
    return f"{word} {('step' if number in ('0.5', '1') else 'steps') if unit == 'pace' else unit}"


def leave_words(test: ScoredTest, leave_m: float) -> str:
    """Where a ball stopped, seen from the hole or line."""
    if test.design.kind == Design.Kind.CHIPS:
        return f"{in_steps(test, leave_m)} away"
    if not leave_m:
        return "level"
    return f"{in_steps(test, abs(leave_m))} {'past' if leave_m > 0 else 'short'}"


def ball_words(test: ScoredTest, ball: Ball) -> str:
    """What became of one ball."""
    if ball.leave_m is not None:
        return leave_words(test, ball.leave_m)
    side = way(test, ball.away)
    if ball.result in (Ball.Result.HOLED, Ball.Result.THROUGH):
        return str(ball.result)
    if ball.result == Ball.Result.BESIDE:
        return side or "beside, side not seen"
    return " ".join(filter(None, [ball.length, side])) or "missed, not seen"


def told(test: ScoredTest, unit: Unit) -> str:
    """What a test came to, in counts."""
    balls = list(test.hit.all())
    if not balls:
        return "no ball yet"
    if test.design.kind == Design.Kind.GATE:
        return gate_words(test, balls)
    if test.design.kind == Design.Kind.COUNTED:
        return counted_words(balls, unit)
    return leaves_words(test, balls, unit)


def gate_words(test: ScoredTest, balls: Sequence[Ball]) -> str:
    """How many went through, and where the others went."""
    ways = [way(test, ball.away) for ball in balls if ball.result == Ball.Result.BESIDE]
    others = [(ways.count("left"), "left"), (ways.count("right"), "right"), (ways.count(""), "beside")]
    through = f"{holed_of(balls, Ball.Result.THROUGH)} through"
    return ", ".join([through, *(f"{number} {word}" for number, word in others if number)])


def counted_words(balls: Sequence[Ball], unit: Unit) -> str:
    """How many were holed, in all and from each distance."""
    stations = by_distance(balls)
    whole = f"holed {holed_of(balls)}"
    if len(stations) == 1:
        return f"{whole} from {shown(balls[0].distance_m, unit)}"
    return f"{whole}: " + ", ".join(f"{holed_of(hit)} from {shown(distance, unit)}" for distance, hit in stations)


def leaves_words(test: ScoredTest, balls: Sequence[Ball], unit: Unit) -> str:
    """The usual leave from each distance, and how many were holed where there is a hole."""
    stations = by_distance(balls)
    parts = [station_words(test, hit) for _, hit in stations]
    if len(stations) == 1:
        return f"{parts[0]}, from {shown(balls[0].distance_m, unit)}"
    return "; ".join(
        f"from {shown(distance, unit)}: {part}" for (distance, _), part in zip(stations, parts, strict=True)
    )


def station_words(test: ScoredTest, balls: Sequence[Ball]) -> str:
    """The middle one of the leaves from one distance, and how many were holed."""
    leaves = [ball.leave_m for ball in balls if ball.leave_m is not None]
    usual = f"usual leave {leave_words(test, median(leaves))}" if leaves else ""
    return "; ".join(filter(None, [usual, f"{holed_of(balls)} holed" if test.design.has_hole else ""]))


def by_distance(balls: Sequence[Ball]) -> list[tuple[float, list[Ball]]]:
    """The balls from each distance, nearest first."""
    ordered = sorted(balls, key=lambda ball: (ball.distance_m, ball.number))
    return [(distance, list(hit)) for distance, hit in groupby(ordered, key=lambda ball: ball.distance_m)]


def holed_of(balls: Sequence[Ball], result: str = Ball.Result.HOLED) -> str:
    """How many of the balls came to this: "14 of 20"."""
    return f"{sum(ball.result == result for ball in balls)} of {len(balls)}"
