"""Lengths of a drawing, rounded as one would say them, in the academy's unit."""

from drills.putting.units import from_metres

SMALL_M = 0.95  # below it a length is said in cm or inches
LARGE_FT, LARGE_M = 10, 10  # from here on in whole feet or metres


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
