"""Balls and tests in plain words and counts: left and right from the player's own side, no shares of a hundred."""

import re
from collections.abc import Sequence
from itertools import groupby
from statistics import median_high

from drills.models import Ball, Design, ScoredTest
from drills.putting.lengths import shown, tidy
from drills.putting.units import METRES, Unit
from lessons.progress.sentences import FEW

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
    """What was left from each distance, nearest first."""
    stations = by_distance(balls)
    return "; ".join(f"of {len(hit)} from {shown(away, unit)}: {station_words(test, hit)}" for away, hit in stations)


def station_words(test: ScoredTest, balls: Sequence[Ball]) -> str:
    """How near half of the balls from one distance stopped, on which side, and how many were holed."""
    ways = [] if test.design.kind == Design.Kind.CHIPS else [leave_way(ball.leave_m) for ball in balls]
    counts = [(ways.count(word), word) for word in ("short", "level", "past")]
    holed = sum(ball.result == Ball.Result.HOLED for ball in balls)
    parts = [f"{number} {word}" for number, word in counts if number]
    near = [half_words(test, balls)] if len(balls) >= FEW or not ways else []
    return ", ".join([*near, *parts, *([f"{holed or 'none'} holed"] if test.design.has_hole else [])])


def leave_way(leave_m: float | None) -> str:
    """Short, level or past; nothing of a ball that was holed."""
    if leave_m is None:
        return ""
    return "past" if leave_m > 0 else "short" if leave_m < 0 else "level"


def half_words(test: ScoredTest, balls: Sequence[Ball]) -> str:
    """Within what half of the balls stopped, holed ones among them; level means to within half a step."""
    middle = median_high(abs(ball.leave_m or 0) for ball in balls)
    return f"half within {in_steps(test, max(middle, test.step_m / 2))}"


def by_distance(balls: Sequence[Ball]) -> list[tuple[float, list[Ball]]]:
    """The balls from each distance, nearest first."""
    ordered = sorted(balls, key=lambda ball: (ball.distance_m, ball.number))
    return [(distance, list(hit)) for distance, hit in groupby(ordered, key=lambda ball: ball.distance_m)]


def holed_of(balls: Sequence[Ball], result: str = Ball.Result.HOLED) -> str:
    """How many of the balls came to this: "14 of 20"."""
    return f"{sum(ball.result == result for ball in balls)} of {len(balls)}"
