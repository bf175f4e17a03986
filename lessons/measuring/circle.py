"""The circle that lies closest to points on the edge of a ball, by least squares.

A ball off the camera's axis is seen as an ellipse, longer by 1 / cos of that angle away from the middle of the
picture. Five points tell a circle well, and an ellipse hardly: so a circle is fitted, and `widened` says how much wider
it is than the ball.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from lessons.measuring.plane import Frame, MeasuringError, Point

ROUNDS = 60  # each brings the middle closer; with points all round a dozen are enough


@dataclass(frozen=True)
class Circle:
    """A circle: its middle and its radius, in pixels."""

    middle: Point
    radius: float


def fit_circle(points: Sequence[Point]) -> Circle:
    """The circle whose edge has the least squared distances to three points or more.

    At the minimum the middle is the mean of the points less the mean of their directions times the radius; stepping
    there again and again is the fixed-point method of Landau (1987), named from memory. Points all round settle it;
    see `widest_gap`.
    """
    mean = mean_of(points)
    middle = mean
    for _ in range(ROUNDS):
        distances = [middle.distance(point) for point in points]
        if min(distances) == 0:
            raise MeasuringError("Place the points on the edge of the ball, not in its middle.")
        radius = sum(distances) / len(points)
        ways = [middle.to(point) for point in points]
        right = sum(way[0] / distance for way, distance in zip(ways, distances, strict=True)) / len(points)
        down = sum(way[1] / distance for way, distance in zip(ways, distances, strict=True)) / len(points)
        middle = Point(mean.x - radius * right, mean.y - radius * down)
    return Circle(middle, sum(middle.distance(point) for point in points) / len(points))


def mean_of(points: Sequence[Point]) -> Point:
    """The mean of some points."""
    return Point(sum(point.x for point in points) / len(points), sum(point.y for point in points) / len(points))


def widest_gap(points: Sequence[Point], middle: Point) -> float:
    """The widest angle between two neighbours on the edge, seen from the middle, in radians.

    Above half a turn they are an arc, which says little of its circle.
    """
    angles = sorted(math.atan2(point.y - middle.y, point.x - middle.x) for point in points)
    return max(after - before for before, after in zip(angles, [*angles[1:], angles[0] + 2 * math.pi], strict=True))


def widened(circle: Circle, frame: Frame) -> float:
    """How many times as wide as a ball in the middle of the picture its ellipse is, the mean of both axes."""
    off = circle.middle.distance(frame.middle)
    return (1 + math.hypot(frame.focal, off) / frame.focal) / 2
