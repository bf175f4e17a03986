"""Lengths as people say them, turned into metres and back once, where they are typed and shown."""

from typing import Literal

Unit = Literal["m", "cm", "ft", "in", "yd", "pace"]
METRES: dict[Unit, float] = {"m": 1.0, "cm": 0.01, "ft": 0.3048, "in": 0.0254, "yd": 0.9144, "pace": 0.9}
# The international yard and pound agreement of 1959 fixes foot, inch and yard. A pace is common practice, no source.


def in_metres(length: float, unit: Unit) -> float:
    """A length in metres. Raises KeyError for a unit that is none."""
    return length * METRES[unit]


def from_metres(length_m: float, unit: Unit) -> float:
    """A length of so many metres in another unit. Raises KeyError for a unit that is none."""
    return length_m / METRES[unit]
