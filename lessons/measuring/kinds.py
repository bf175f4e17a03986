"""What can be measured in a still, and which points each kind needs."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from lessons.measuring.circle import fit_circle, widest_gap
from lessons.measuring.plane import MeasuringError, Point

# The Rules of Golf, Equipment Rules, part 4: the diameter of a ball is not less than 1.680 inches (42.67 mm).
BALL_CM = 4.267
# How far from each other two points lie at least, in pixels: with closer ones a tap decides more than the picture.
SHORTEST_LINE = 10
SHORTEST_SCALE = 40
SMALLEST_BALL = 16
EDGE = range(5, 9)  # how many points on the edge of the ball


class Kind(StrEnum):
    """What is measured, each in its own unit."""

    ANGLE = "angle"
    UPRIGHT = "upright"
    LENGTH = "length"
    BALL = "ball"
    RATIO = "ratio"

    @property
    def form(self) -> "KindForm":
        """Its name, its unit and its points."""
        return KIND_FORMS[self]


@dataclass(frozen=True)
class KindForm:
    """How a kind is offered: its name, short and long, the unit of its value, and what each of its points is."""

    short: str
    label: str
    unit: str
    points: tuple[str, ...]
    how: str
    needed: int = 0

    @property
    def least(self) -> int:
        """How many points it needs."""
        return self.needed or len(self.points)


WANTED = ("one end of the distance", "its other end")
EDGES = tuple(f"edge of the ball, {number}" for number in range(1, EDGE[-1] + 1))
KIND_FORMS: dict[Kind, KindForm] = {
    Kind.ANGLE: KindForm(
        "Angle",
        "Angle between two lines",
        "°",
        ("first line, begin", "first line, end", "second line, begin", "second line, end"),
        "Draw each line away from the joint, or both the same way: the angle is from 0 to 180°.",
    ),
    Kind.UPRIGHT: KindForm(
        "Lean",
        "Angle to the vertical",
        "°",
        ("lower end of the line", "upper end of the line"),
        "The upright edge of the picture counts as vertical. If something in it hangs straight down, measure the angle "
        "between two lines instead.",
    ),
    Kind.LENGTH: KindForm(
        "Distance",
        "Distance, by a known length",
        "cm",
        (*WANTED, "one end of the known length", "its other end"),
        "The known length lies as far from the camera as what you measure, straight across: a putter at address leans "
        "away and looks too short, so hold it upright or lay it along the feet.",
    ),
    Kind.BALL: KindForm(
        "By the ball",
        "Distance, by the ball",
        "cm",
        (*WANTED, *EDGES),
        f"Put {EDGE[0]} points or more all round the edge of the ball. It is small, so a known length is far surer.",
        needed=len(WANTED) + EDGE[0],
    ),
    Kind.RATIO: KindForm(
        "Ratio",
        "How many times as long",
        "to 1",
        (*WANTED, "one end of what it is compared with", "its other end"),
        "Both lie as far from the camera as each other.",
    ),
}


def check(kind: Kind, points: Sequence[Point]) -> None:
    """Raise `MeasuringError` where points are missing, or lie too close together to say anything."""
    if not kind.form.least <= len(points) <= len(kind.form.points):
        raise MeasuringError(f"Place {kind.form.least} points; {len(points)} are there.")
    for begin, end in lines(kind, points):
        if begin.distance(end) < SHORTEST_LINE:
            raise MeasuringError(f"Two points of a line lie at least {SHORTEST_LINE} pixels from each other.")
    if kind is Kind.LENGTH and points[2].distance(points[3]) < SHORTEST_SCALE:
        raise MeasuringError(f"The known length is at least {SHORTEST_SCALE} pixels long: choose a longer one.")
    if kind is Kind.BALL:
        check_ball(points[2:])


def check_ball(edge: Sequence[Point]) -> None:
    """Raise `MeasuringError` where points on the edge of a ball do not tell how wide it is."""
    ball = fit_circle(edge)
    if widest_gap(edge, ball.middle) > math.pi:
        raise MeasuringError("Place the points all round the ball, not on one side of it.")
    if 2 * ball.radius < SMALLEST_BALL:
        raise MeasuringError(f"The ball is at least {SMALLEST_BALL} pixels wide: measure by a known length instead.")


def lines(kind: Kind, points: Sequence[Point]) -> list[tuple[Point, Point]]:
    """The lines between points; the edge of a ball is none."""
    ends = points[:2] if kind is Kind.BALL else points
    return list(zip(ends[::2], ends[1::2], strict=True))


def value_of(kind: Kind, points: Sequence[Point], known_cm: float) -> float:
    """What points in the plane of the ball amount to, in the kind's unit; `known_cm` is what gives the scale.

    Angles have a sign: clockwise is plus.
    """
    first, last = (lines(kind, points)[index] for index in (0, -1))
    if kind is Kind.ANGLE:
        return within(bearing(*last) - bearing(*first), 360)
    if kind is Kind.UPRIGHT:
        return within(bearing(*first), 180)
    if kind is Kind.BALL:
        return known_cm * first[0].distance(first[1]) / (2 * fit_circle(points[2:]).radius)
    ratio = first[0].distance(first[1]) / last[0].distance(last[1])
    return ratio * known_cm if kind is Kind.LENGTH else ratio


def bearing(begin: Point, end: Point) -> float:
    """The direction of a line, in degrees from straight up, clockwise."""
    right, down = begin.to(end)
    return math.degrees(math.atan2(right, -down))


def within(degrees: float, whole: float) -> float:
    """An angle less as many whole turns as bring it closest to 0; halfway is plus."""
    return -((whole / 2 - degrees) % whole) + whole / 2
