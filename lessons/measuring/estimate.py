"""A value with its standard uncertainty, from the taps, from what gives the scale, and from how the camera was held.

The first-order law of propagation (JCGM 100:2008, 5.1.2), with slopes from the value a small step to either side
(5.1.4, note 2). What is only known to lie between two limits has a standard uncertainty of half their distance over
the root of three (4.3.7). Number of clause named from memory.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

from lessons.measuring.circle import fit_circle, widened
from lessons.measuring.kinds import BALL_CM, Kind, check, value_of, within
from lessons.measuring.plane import Frame, MeasuringError, Point, Tilt, flattened

TAP_PX = 2.0  # standard deviation of a placed point, across and down each
TILT_DEGREES = 3.0  # a camera is held level and straight within this: pitch, yaw and roll each
KNOWN_CM = 0.5  # a known length is right within this
# A ball may be larger than the least by so much: 0.25 mm, common practice, no source. How much wider it is seen off the
# middle depends on the lens, and is right within half of itself.
BALL_SHARE = 0.006
NORMAL_95 = 1.96
STEP_PX, STEP_DEGREES = 0.25, 0.25  # for slopes
SHORTEST_KNOWN, LONGEST_KNOWN = 5.0, 300.0  # of a known length, in cm
TURN = {Kind.ANGLE: 360, Kind.UPRIGHT: 180}


@dataclass(frozen=True)
class Estimate:
    """What was measured, in the kind's unit, and the standard uncertainty that each source leaves in it.

    An angle that leans to the left, or counter-clockwise, is `value` below 0; `size` has no sign.
    """

    kind: Kind
    value: float
    from_taps: float
    from_scale: float
    from_tilt: float

    @property
    def size(self) -> float:
        """The value without its sign."""
        return abs(self.value)

    @property
    def uncertainty(self) -> float:
        """The standard uncertainty of all sources together."""
        return math.hypot(self.from_taps, self.from_scale, self.from_tilt)

    @property
    def interval(self) -> tuple[float, float]:
        """The 95 % interval of the size, which is never below 0, and an angle never above a half or quarter turn."""
        half, most = NORMAL_95 * self.uncertainty, TURN.get(self.kind, math.inf) / 2
        return max(0.0, self.size - half), min(most, self.size + half)


def estimate(kind: Kind, points: Sequence[Point], frame: Frame, known_cm: float | None = None) -> Estimate:
    """What points of a still amount to; `known_cm` is the known length, where the kind has one.

    Raises `MeasuringError` where the points or the length cannot be measured.
    """
    if not all(frame.holds(point) for point in points):
        raise MeasuringError("Every point lies in the picture.")
    check(kind, points)
    scale = scale_for(kind, points, frame, known_cm)
    value = value_of(kind, points, scale.cm)
    return Estimate(
        kind=kind,
        value=value,
        from_taps=TAP_PX * math.hypot(*tap_slopes(kind, points, scale.cm)),
        from_scale=scale.share * abs(value),
        from_tilt=TILT_DEGREES / math.sqrt(3) * math.hypot(*tilt_slopes(kind, points, frame, scale.cm)),
    )


@dataclass(frozen=True)
class Scale:
    """The length in cm that gives the scale, and its standard uncertainty as a share of it."""

    cm: float = 1.0
    share: float = 0.0


def scale_for(kind: Kind, points: Sequence[Point], frame: Frame, known_cm: float | None) -> Scale:
    """What gives the scale: the known length, the ball, or nothing."""
    if kind is Kind.BALL:
        wider = widened(fit_circle(points[2:]), frame)
        return Scale(BALL_CM * wider, math.hypot(BALL_SHARE, (wider - 1) / 2) / math.sqrt(3))
    if kind is not Kind.LENGTH:
        return Scale()
    if known_cm is None or not SHORTEST_KNOWN <= known_cm <= LONGEST_KNOWN:
        raise MeasuringError(f"Type the known length, from {SHORTEST_KNOWN:g} to {LONGEST_KNOWN:g} cm.")
    return Scale(known_cm, KNOWN_CM / known_cm / math.sqrt(3))


def tap_slopes(kind: Kind, points: Sequence[Point], known_cm: float) -> list[float]:
    """How the value changes a pixel, as each point goes across and down."""

    def moved(index: int, right: int, step: float) -> float:
        point = Point(points[index].x + right * step, points[index].y + (1 - right) * step)
        return value_of(kind, [*points[:index], point, *points[index + 1 :]], known_cm)

    ways = [partial(moved, index, right) for index in range(len(points)) for right in (1, 0)]
    return [slope(kind, way, STEP_PX) for way in ways]


def tilt_slopes(kind: Kind, points: Sequence[Point], frame: Frame, known_cm: float) -> list[float]:
    """How the value changes a degree, as the camera is turned down, to its right, and about its own axis."""

    def tilted(axis: str, degrees: float) -> float:
        tilt = Tilt(**{axis: degrees})
        return value_of(kind, [flattened(point, frame, tilt) for point in points], known_cm)

    return [slope(kind, partial(tilted, axis), STEP_DEGREES) for axis in ("pitch", "yaw", "roll")]


def slope(kind: Kind, value_at: Callable[[float], float], step: float) -> float:
    """The change of a value a unit, from a step to either side; an angle may pass its half turn between them."""
    change = value_at(step) - value_at(-step)
    return (within(change, TURN[kind]) if kind in TURN else change) / (2 * step)
