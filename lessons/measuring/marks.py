"""What is drawn of a value over its picture, in pixels of the picture."""

from collections.abc import Sequence
from dataclasses import dataclass

from lessons.measuring.circle import Circle, fit_circle
from lessons.measuring.kinds import Kind, lines
from lessons.measuring.plane import Point


@dataclass(frozen=True)
class Marks:
    """Lines from point to point, the points themselves, and the ball where it gives the scale."""

    lines: list[tuple[Point, Point]]
    points: list[Point]
    ball: Circle | None


def marks_for(kind: Kind, points: Sequence[Point]) -> Marks:
    """What is drawn of points that can be measured."""
    ball = fit_circle(points[2:]) if kind is Kind.BALL else None
    return Marks(lines(kind, points), list(points), ball)
