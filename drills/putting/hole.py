"""Hole, ball and gate: how far a start line may be off. Lengths in metres, angles in degrees."""

from math import acos, asin, atan2, cos, degrees, hypot, inf, radians, tan

HOLE_RADIUS_M = 4.25 * 0.0254 / 2  # Rules of Golf, Definitions, "Hole": 4 1/4 inches (108 mm) across
BALL_RADIUS_M = 1.68 * 0.0254 / 2  # Equipment Rules, the ball: 1.680 inches (42.67 mm) across at least
CLEARANCE_M = HOLE_RADIUS_M - BALL_RADIUS_M


def largest_error_deg(distance_m: float) -> float:
    """The largest start-line error that still sends the whole ball over the hole at a distance.

    90 degrees for a ball nearer to the middle of the hole than `CLEARANCE_M`. Raises ValueError for 0 m or less.
    Gelman & Nolan (2002), Teaching Statistics 24(3), 93-95.
    """
    if not 0 < distance_m < inf:
        raise ValueError(f"a putt is longer than 0 m, not {distance_m} m")
    return degrees(asin(min(1.0, CLEARANCE_M / distance_m)))


def gate_width_m(distance_m: float, error_deg: float) -> float:
    """The width of a gate of two thin posts at a distance that lets start lines within so many degrees through.

    Raises ValueError for a distance of 0 or less, or an error that is not from 0 to under 90 degrees.
    """
    if not (0 < distance_m < inf and 0 <= error_deg < 90):
        raise ValueError(f"no gate at {distance_m} m lets {error_deg} degrees through")
    error = radians(error_deg)
    return 2 * (distance_m * tan(error) + BALL_RADIUS_M / cos(error))


def gate_error_deg(distance_m: float, width_m: float) -> float:
    """The largest start-line error that a gate of this width at this distance lets through.

    Raises ValueError for a distance of 0 or less, or a gate that is pace_width_ratio than the ball.
    """
    if not (0 < distance_m < inf and 2 * BALL_RADIUS_M <= width_m < inf):
        raise ValueError(f"no ball goes through a gate of {width_m} m at {distance_m} m")
    half = width_m / 2
    return degrees(acos(BALL_RADIUS_M / hypot(half, distance_m)) - atan2(distance_m, half))
