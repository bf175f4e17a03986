"""Lengths as people read them: in the academy's unit, in steps, and rounded as one would say them."""

from collections.abc import Iterable
from math import isclose

from drills.putting.units import Unit, from_metres, in_metres

ROUNDEST = (1.0, 0.5, 0.1, 0.01)
NEAR = 0.02  # a length rounded by less is still the same one to a person; common practice, no source
MIXED_NEAR = 0.2  # so near to what is usual in the other unit, and the two were mixed up; common practice, no source
SMALLER: dict[Unit, tuple[Unit, float]] = {"m": ("cm", 0.5), "ft": ("in", 0.3047)}
OTHER: dict[Unit, Unit] = {"m": "ft", "ft": "m", "cm": "in", "in": "cm"}


def unit_of(units: str) -> Unit:
    """The unit of an academy that reads lengths in these: feet, or else metres."""
    return "ft" if units == "ft" else "m"


def tidy(value: float) -> str:
    """A number as one would type it, to a hundredth below 20 and a tenth above, or else the roundest one near it."""
    exact = round(value, 2 if value < 20 else 1)
    if isclose(value, exact, rel_tol=1e-4):
        return f"{exact:g}"
    return f"{next((rounded for rounded in roundings(value) if abs(rounded - value) <= NEAR * value), value):.4g}"


def roundings(value: float) -> Iterable[float]:
    """The number rounded ever more finely."""
    return (round(value / part) * part for part in ROUNDEST)


def shown(length_m: float, unit: Unit) -> str:
    """A length of so many metres in a unit, or in the smaller one that belongs to it: "6 m", "20 ft", "8 cm"."""
    return f"{number_in(length_m, unit)} {named(length_m, unit)}"


def listed(lengths_m: Iterable[float], unit: Unit) -> str:
    """Several lengths in one unit, nearest first: "1, 1.5, 2 and 3 m"."""
    lengths = sorted(lengths_m)
    if len(lengths) == 1:
        return shown(lengths[0], unit)
    *most, last = (tidy(from_metres(length, unit)) for length in lengths)
    return f"{', '.join(most)} and {last} {unit}"


def number_in(length_m: float, unit: Unit) -> str:
    """The number of `shown` alone."""
    return tidy(from_metres(length_m, named(length_m, unit)))


def named(length_m: float, unit: Unit) -> Unit:
    """The unit that a length is read in."""
    smaller, below_m = SMALLER.get(unit, (unit, 0.0))
    return smaller if length_m < below_m else unit


def stepped(length_m: float) -> str:
    """A length in whole steps: "7 steps"; half a step is one."""
    steps = max(1, round(from_metres(length_m, "pace")))
    return "1 step" if steps == 1 else f"{steps} steps"


def meant(length: float, unit: Unit, usual_m: Iterable[float]) -> Unit | None:
    """The unit that was probably meant where a length is far from all usual ones, and near to one in another unit."""
    usual, other = list(usual_m), OTHER.get(unit)
    if other is None or near(in_metres(length, unit), usual):
        return None
    return other if near(in_metres(length, other), usual) else None


def near(length_m: float, usual_m: Iterable[float]) -> bool:
    """Whether a length is about one of those."""
    return any(abs(length_m - usual) <= MIXED_NEAR * usual for usual in usual_m)
