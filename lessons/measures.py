"""What is measured of a skill: a typed number is read, asked about outside its limits, and compared with another one.

Pure. All numbers are in the unit of their measure.
"""

import re
from dataclasses import dataclass
from decimal import Decimal

from lessons.wording import SideWord, render

# How people type a unit; the first is how it is written here.
UNITS: dict[str, tuple[str, ...]] = {
    "cm": ("cm", "centimetre", "centimetres", "centimeter", "centimeters"),
    "mm": ("mm", "millimetre", "millimetres", "millimeter", "millimeters"),
    "s": ("s", "sec", "secs", "second", "seconds"),
    "%": ("%", "percent", "per cent"),
    "°": ("°", "deg", "degree", "degrees"),
    "steps": ("steps", "step"),
    "to 1": ("to 1", ": 1", ":1", "ratio"),
}
JOINED = ("%", "°")  # written without a space
MOST_PERCENT = 100
TOO_GREAT = 10_000  # what the database has no room for
DECIMALS = 2
CHANGE_STEPS = 2  # see `is_change`

NUMBER = re.compile(r"[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+")
TYPED = re.compile(
    r"(?:about|around|roughly|approx\.?|ca\.?|c\.|~)?\s*"
    r"(?P<sign>[+-]?)\s*(?P<digits>[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)\s*(?P<unit>.*)",
    re.DOTALL,
)


class MeasureError(ValueError):
    """What was typed is not a number of this measure; the text says what to type instead."""


@dataclass(frozen=True)
class Measure:
    """What is measured of a skill.

    `name` is a wording. `low` and `high` are the limits outside which a number is asked about, `step` is how finely it
    can honestly be read, and `usual` is the range that the trade calls usual, where it has one.
    """

    name: str
    unit: str
    low: Decimal
    high: Decimal
    step: Decimal
    by_eye: bool = False
    usual: tuple[Decimal, Decimal] | None = None

    def value(self, number: Decimal) -> str:
        """A number with its unit: "31 cm", "60%"."""
        return with_unit(format_decimal(number), self.unit)

    def difference(self, number: Decimal) -> str:
        """A difference of two values; of two percentages in points, since a percent of a percent reads otherwise."""
        if self.unit == "%":
            return f"{format_decimal(number)} points"
        return format_decimal(number) if self.unit == "to 1" else self.value(number)

    def range_words(self, low: Decimal, high: Decimal) -> str:
        """Two numbers with their unit: "60 to 70%"."""
        return f"{format_decimal(low)} to {self.value(high)}"

    def name_for(self, side: SideWord | None = None) -> str:
        """The name as a player of that side reads it, or in the trade's words."""
        name = render(self.name, side)
        return name[:1].upper() + name[1:]

    def heading(self, side: SideWord | None = None) -> str:
        """The name, and whether it is a guess by eye."""
        return f"{self.name_for(side)}{' (a guess by eye)' if self.by_eye else ''}"

    def label(self, side: SideWord | None = None) -> str:
        """The heading with the unit, where numbers stand without one."""
        return f"{self.heading(side)}, {self.unit}"

    @property
    def may_be_negative(self) -> bool:
        """Whether a number below zero means anything."""
        return self.low < 0

    @property
    def example(self) -> str:
        """A number that a coach could type."""
        low, high = self.usual or (self.low, self.high)
        middle = (max(low, Decimal(0)) + high) / 2
        return format_decimal(middle // self.step * self.step or self.step)

    @property
    def usual_words(self) -> str:
        """The usual range; empty where the trade has none."""
        return f"Usual: {self.range_words(*self.usual)}." if self.usual else ""

    @property
    def hint(self) -> str:
        """How finely to read it, and what is usual."""
        return f"To about {self.value(self.step)}. {self.usual_words}".strip()


def format_decimal(number: Decimal) -> str:
    """A number without trailing zeros, and with a true minus."""
    digits = f"{number:f}"
    return (digits.rstrip("0").rstrip(".") if "." in digits else digits).replace("-", "−")


def with_unit(number: str, unit: str) -> str:
    """A number and its unit."""
    if unit == "steps" and number == "1":
        unit = "step"
    return f"{number}{'' if unit in JOINED else ' '}{unit}"


def read_number(typed: str, measure: Measure) -> Decimal:
    """The number that was typed, with a decimal point or comma and perhaps its unit behind it.

    Raises `MeasureError` where it is no number, more than one, in another unit, or one that cannot be.
    """
    text = typed.strip().casefold().replace("−", "-").replace("–", "-")
    found = TYPED.fullmatch(text)
    if found is None or found["unit"].removesuffix(".") not in ("", *UNITS.get(measure.unit, (measure.unit,))):
        raise MeasureError(explain(text, measure))
    return checked(found["sign"] + found["digits"].replace(",", "."), measure)


def has_unit(typed: str) -> bool:
    """Whether a unit stands behind a number that could be read."""
    return not typed.strip()[-1:].isdecimal()


def explain(text: str, measure: Measure) -> str:
    """Why a text could not be read, and what to type."""
    numbers = len(NUMBER.findall(text))
    if numbers == 0:
        return f"Type a number, such as {measure.example}."
    if numbers > 1:
        return f"Type one number only, such as {measure.example}."
    return f"Type the number in {measure.unit}, such as {measure.example}."


def checked(number: str, measure: Measure) -> Decimal:
    """A number that can be stored and that can be. Raises `MeasureError` for any other."""
    value = Decimal(number)
    if abs(value) >= TOO_GREAT:
        raise MeasureError(f"Type a smaller number, such as {measure.example}.")
    if len(number.partition(".")[2]) > DECIMALS:
        raise MeasureError("Type at most two digits after the point.")
    if value < 0 and not measure.may_be_negative:
        raise MeasureError(f"This is never below 0. Type a number such as {measure.example}.")
    if measure.unit == "%" and value > MOST_PERCENT:
        raise MeasureError(f"This is never above 100%. Type a number such as {measure.example}.")
    return value + 0  # no minus before a zero


def limit_question(number: Decimal, measure: Measure) -> str:
    """The question about a number outside the limits; empty for one within them."""
    if measure.low <= number <= measure.high:
        return ""
    more = "more" if number > measure.high else "less"
    limits = measure.range_words(measure.low, measure.high)
    return f"{measure.value(number)} is {more} than most ({limits}). Type it again, or tick to keep it."


def is_change(one: Decimal, other: Decimal, measure: Measure) -> bool:
    """Whether two readings differ by more than the reading itself can.

    Each is within one step of the truth, so that two of one truth differ by two steps at most: common practice. It is
    more careful than the repeatability limit of ISO 5725-6 (1994), 4.1, named from memory: 1.4 steps of such
    readings.
    """
    return abs(one - other) > CHANGE_STEPS * measure.step
