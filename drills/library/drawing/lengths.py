"""Lengths of a drawing and of the words beside it, rounded as one would say them, in the academy's unit."""

import re

from drills.putting.units import from_metres

SMALL_M = 0.95  # below it a length is said in cm or inches
LARGE_FT, LARGE_M = 10, 10  # from here on in whole feet or metres
NUMBER = re.compile(r"\d+(?:\.\d+)?")
METRIC = re.compile(r"(?<![\d.])(?P<numbers>\d+(?:\.\d+)?(?:(?:, | to | and | or )\d+(?:\.\d+)?)*) (?P<unit>m|cm)\b")


def length_label(length_cm: float, units: str) -> str:
    """A length of so many cm: "50 cm", "1.5 m"; in feet "20 in", "5 ft"."""
    metres = length_cm / 100
    if units == "ft":
        return f"{inches(metres):g} in" if metres < SMALL_M else f"{feet(metres):g} ft"
    if metres < SMALL_M:
        return f"{round(2 * length_cm) / 2 if length_cm < 10 else round(length_cm):g} cm"
    return f"{round(metres, 1 if metres < LARGE_M else 0):g} m"


def inches(metres: float) -> float:
    """Inches, to a half below 10 and to a whole one from there on."""
    exact = from_metres(metres, "in")
    return round(2 * exact) / 2 if exact < 10 else round(exact)


def feet(metres: float) -> float:
    """Feet, to a half below 10 and to a whole one from there on."""
    exact = from_metres(metres, "ft")
    return round(2 * exact) / 2 if exact < LARGE_FT else round(exact)


def in_units(text: str, units: str) -> str:
    """The text with its metric lengths ("2 m", "3 to 5 cm") in feet and inches where an academy reads those."""
    return METRIC.sub(in_feet, text) if units == "ft" else text


def in_feet(found: re.Match[str]) -> str:
    """Numbers before one unit, in feet, or in inches if the greatest is short; the words between them stay."""
    in_metres = 0.01 if found["unit"] == "cm" else 1.0
    greatest = max(float(number) for number in NUMBER.findall(found["numbers"])) * in_metres
    unit, convert = ("in", inches) if greatest < SMALL_M else ("ft", feet)
    numbers = NUMBER.sub(lambda number: f"{convert(float(number[0]) * in_metres):g}", found["numbers"])
    return f"{numbers} {unit}"
