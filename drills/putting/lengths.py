"""Lengths for people to read: in the academy's unit, in steps, and rounded as one would say them."""

from collections.abc import Iterable
from math import isclose

from drills.putting.units import Unit, from_metres, in_metres

ROUNDINGS = (1.0, 0.5, 0.1, 0.01)
ROUNDING_TOLERANCE = 0.02  # a length rounded by less is still the same one to a person; common practice, no source
MIXED_UP_TOLERANCE = 0.2  # of what is usual in the other unit: the two were mixed up; common practice, no source
SMALLER_UNIT: dict[Unit, tuple[Unit, float]] = {"m": ("cm", 0.5), "ft": ("in", 0.3047)}
OTHER_SYSTEM: dict[Unit, Unit] = {"m": "ft", "ft": "m", "cm": "in", "in": "cm"}


def unit_of(units: str) -> Unit:
    """The unit of an academy that reads lengths in these: feet, or else metres."""
    return "ft" if units == "ft" else "m"


def format_number(value: float) -> str:
    """A number as one would type it, to a hundredth below 20 and a tenth above, or else the roundest one near it."""
    exact = round(value, 2 if value < 20 else 1)
    if isclose(value, exact, rel_tol=1e-4):
        return f"{exact:g}"
    near = (rounded for rounded in rounded_ever_finer(value) if abs(rounded - value) <= ROUNDING_TOLERANCE * value)
    return f"{next(near, value):.4g}"


def rounded_ever_finer(value: float) -> Iterable[float]:
    """The number rounded ever more finely: to a whole, a half, a tenth, a hundredth."""
    return (round(value / part) * part for part in ROUNDINGS)


def format_length(length_m: float, unit: Unit) -> str:
    """A length of so many metres in a unit, or in the smaller one that belongs to it: "6 m", "20 ft", "8 cm"."""
    return f"{number_in_unit(length_m, unit)} {display_unit(length_m, unit)}"


def format_lengths(lengths_m: Iterable[float], unit: Unit) -> str:
    """Several lengths in one unit, nearest first: "1, 1.5, 2 and 3 m"."""
    lengths = sorted(lengths_m)
    if len(lengths) == 1:
        return format_length(lengths[0], unit)
    *most, last = (format_number(from_metres(length, unit)) for length in lengths)
    return f"{', '.join(most)} and {last} {unit}"


def number_in_unit(length_m: float, unit: Unit) -> str:
    """The number of `format_length` without the unit."""
    return format_number(from_metres(length_m, display_unit(length_m, unit)))


def display_unit(length_m: float, unit: Unit) -> Unit:
    """The unit in which a length is shown: the smaller one for short lengths."""
    smaller, below_m = SMALLER_UNIT.get(unit, (unit, 0.0))
    return smaller if length_m < below_m else unit


def format_steps(length_m: float) -> str:
    """A length in whole steps: "7 steps"; half a step is one."""
    steps = max(1, round(from_metres(length_m, "step")))
    return "1 step" if steps == 1 else f"{steps} steps"


def likely_unit(length: float, unit: Unit, usual_m: Iterable[float]) -> Unit | None:
    """The unit that was probably meant where a length is far from all usual ones, and near to one in another unit."""
    usual, other = list(usual_m), OTHER_SYSTEM.get(unit)
    if other is None or is_near_any(in_metres(length, unit), usual):
        return None
    return other if is_near_any(in_metres(length, other), usual) else None


def is_near_any(length_m: float, usual_m: Iterable[float]) -> bool:
    """Whether a length is about one of the usual ones."""
    return any(abs(length_m - usual) <= MIXED_UP_TOLERANCE * usual for usual in usual_m)
