"""Points of a still, and the same points in an upright plane through the ball.

A still is taken by a camera that is held level and looks straight at the plane, or nearly so. Tilted by a few degrees
it shows the near side larger than the far side; how much, follows from the tilt and from how wide the lens sees.
"""

import math
from dataclasses import dataclass

# The focal length in lengths of the picture's long side. A phone's main lens sees about as a lens of 26 mm before a
# film of 36 mm: 0.72, common practice, no source. A wider lens shows a tilt more; a longer one, or a crop, less.
FOCAL = 0.7


class MeasuringError(ValueError):
    """The points cannot be measured; the text says why, and what to do."""


@dataclass(frozen=True)
class Point:
    """A place in a still: pixels from its left and from its upper edge."""

    x: float
    y: float

    def to(self, other: "Point") -> tuple[float, float]:
        """The way to another point: right and down, in pixels."""
        return other.x - self.x, other.y - self.y

    def distance(self, other: "Point") -> float:
        """The distance to another point, in pixels."""
        return math.hypot(*self.to(other))


@dataclass(frozen=True)
class Frame:
    """The size of a still, in pixels."""

    width: int
    height: int

    @property
    def focal(self) -> float:
        """The focal length that is assumed, in pixels."""
        return FOCAL * max(self.width, self.height)

    @property
    def middle(self) -> Point:
        """Its middle, at which the camera is aimed."""
        return Point(self.width / 2, self.height / 2)

    def holds(self, point: Point) -> bool:
        """Whether a point lies in the still; one that is no number does not."""
        return 0 <= point.x <= self.width and 0 <= point.y <= self.height


@dataclass(frozen=True)
class Tilt:
    """How a camera is turned from level and straight: down, to its right, and about its own axis, in degrees."""

    pitch: float = 0.0
    yaw: float = 0.0
    roll: float = 0.0

    def turned(self, ray: tuple[float, float, float]) -> tuple[float, float, float]:
        """A ray of the camera (right, down, ahead) as a level camera has it."""
        x, y, z = ray
        x, y = rotated(x, y, self.roll)
        y, z = rotated(y, z, -self.pitch)
        x, z = rotated(x, z, -self.yaw)
        return x, y, z


def rotated(one: float, other: float, degrees: float) -> tuple[float, float]:
    """Two coordinates turned from the first towards the second."""
    cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return one * cos - other * sin, one * sin + other * cos


def flattened(point: Point, frame: Frame, tilt: Tilt) -> Point:
    """Where a level camera at the same place would have shown a point of the plane."""
    middle = frame.middle
    right, down = middle.to(point)
    x, y, z = tilt.turned((right, down, frame.focal))
    return Point(middle.x + frame.focal * x / z, middle.y + frame.focal * y / z)
