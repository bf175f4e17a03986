"""Conversion of lengths between metres, in which everything is computed, and the units that people type and read."""

from typing import Literal

Unit = Literal["m", "cm", "ft", "in", "yd", "step"]
METRES: dict[Unit, float] = {"m": 1.0, "cm": 0.01, "ft": 0.3048, "in": 0.0254, "yd": 0.9144, "step": 0.9}
# Foot, inch and yard: the international yard and pound agreement of 1959. A step of 0.9 m: common practice, no source.


def in_metres(length: float, unit: Unit) -> float:
    """A length in metres. Raises KeyError for an unknown unit."""
    return length * METRES[unit]


def from_metres(length_m: float, unit: Unit) -> float:
    """A length of so many metres in another unit. Raises KeyError for an unknown unit."""
    return length_m / METRES[unit]
