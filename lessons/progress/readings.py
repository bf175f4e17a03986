"""The readings of one measure over time: in a sentence, and as a picture beside a fault's strip.

Each reading is drawn with a bar of one step to either side, so that bars which overlap or touch are just those readings
that no sentence calls a change (`lessons.measures.is_change`).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from lessons.measures import Measure, format_decimal, is_change
from lessons.progress.picture import DAYS, LABEL, MIDDLE, ROOM, SLOT, WIDTH
from lessons.progress.words import on
from lessons.wording import SideWord

HEIGHT = 84  # of the plot
TOP = LABEL + 8  # the name of the picture, and room for a number above the highest bar
TOO_CLOSE = "too close to call it a change"


@dataclass(frozen=True)
class Reading:
    """What was measured at one visit, on arrival and on departure; None where nobody measured."""

    day: date
    arrival: Decimal | None = None
    departure: Decimal | None = None

    @property
    def is_empty(self) -> bool:
        """Whether nothing was measured."""
        return self.arrival is None and self.departure is None


def latest_words(readings: Sequence[Reading], measure: Measure) -> str:
    """The latest reading, on arrival and departure; empty where nothing was measured."""
    latest = next((reading for reading in reversed(readings) if not reading.is_empty), None)
    if latest is None:
        return ""
    return f"{moment_words(latest, measure)}, {on(latest.day)}"


def moment_words(reading: Reading, measure: Measure) -> str:
    """What was measured at one visit: "31 cm on arrival, 40 cm on departure"."""
    found = {"on arrival": reading.arrival, "on departure": reading.departure}
    return ", ".join(f"{measure.value(number)} {moment}" for moment, number in found.items() if number is not None)


def change_words(readings: Sequence[Reading], measure: Measure) -> str:
    """The latest arrival against the first of those that the picture shows; empty for fewer than two."""
    found = [(reading.day, reading.arrival) for reading in readings[-ROOM:] if reading.arrival is not None]
    if len(found) < 2:
        return ""
    (day, first), *between, (_, last) = found
    if is_change(first, last, measure):
        more = "more" if last > first else "less"
        return f"On arrival {measure.difference(abs(last - first))} {more} than on {on(day)} ({measure.value(first)})."
    close = f"On arrival {TOO_CLOSE} since {on(day)} ({measure.value(first)})."
    return f"{close} {between_words([number for _, number in between], first, measure)}".strip()


def between_words(numbers: Sequence[Decimal], first: Decimal, measure: Measure) -> str:
    """Where it was between two readings that are alike; empty where no change was seen there either."""
    if not any(is_change(first, number, measure) for number in numbers):
        return ""
    low, high = min(numbers), max(numbers)
    return f"In between {measure.value(low) if low == high else measure.range_words(low, high)}."


def lesson_words(reading: Reading, measure: Measure) -> str:
    """What was measured in one lesson, as a student reads it."""
    arrival, departure = reading.arrival, reading.departure
    if arrival is None or departure is None:
        number, moment = (arrival, "when you came") if departure is None else (departure, "at the end")
        return f"{measure.value(number)} {moment}" if number is not None else ""
    change = "" if is_change(arrival, departure, measure) else f": {TOO_CLOSE}"
    return f"{measure.value(arrival)} when you came, {measure.value(departure)} at the end{change}"


@dataclass(frozen=True)
class Bar:
    """One reading: its place, the two ends of its bar, and its number."""

    x: int
    y: float
    top: float
    bottom: float
    text: str


@dataclass(frozen=True)
class Mark:
    """A day below the picture; month and year are given where they differ from the day before."""

    x: int
    day: int
    month: str
    year: str


@dataclass(frozen=True)
class MeasurePicture:
    """The readings of the latest arrivals, each below its own arrival in the strip, and the usual range."""

    label: str
    bars: list[Bar]
    marks: list[Mark]
    usual: tuple[float, float] | None
    usual_names: tuple[str, str]
    description: str

    @property
    def width(self) -> int:
        """The whole width."""
        return WIDTH

    @property
    def days(self) -> int:
        """The top of the days."""
        return TOP + HEIGHT + 4

    @property
    def height(self) -> int:
        """The whole height."""
        return self.days + DAYS

    @property
    def top(self) -> int:
        """The top of the plot."""
        return TOP


def measure_picture(
    readings: Sequence[Reading], measure: Measure, side: SideWord | None = None
) -> MeasurePicture | None:
    """The picture of the latest arrivals, one reading for each visit; None where none of them was measured."""
    latest = list(readings[-ROOM:])
    numbers = [reading.arrival for reading in latest if reading.arrival is not None]
    if not numbers:
        return None
    ends = [*numbers, *(measure.usual or ())]
    low, high = min(ends) - 2 * measure.step, max(ends) + 2 * measure.step
    scale = Scale(low, high)
    usual = measure.usual
    return MeasurePicture(
        label=measure.label(side),
        bars=[
            bar(place, reading.arrival, measure, scale)
            for place, reading in enumerate(latest)
            if reading.arrival is not None
        ],
        marks=marks(latest),
        usual=(scale.down(usual[1]), scale.down(usual[0])) if usual else None,
        usual_names=(format_decimal(usual[1]), format_decimal(usual[0])) if usual else ("", ""),
        description=description(latest, measure),
    )


@dataclass(frozen=True)
class Scale:
    """The two numbers between which the plot reaches."""

    low: Decimal
    high: Decimal

    def down(self, number: Decimal) -> float:
        """The distance of a number below the top of the plot."""
        return round(float(HEIGHT * (self.high - number) / (self.high - self.low)), 1)


def bar(place: int, number: Decimal, measure: Measure, scale: Scale) -> Bar:
    """One reading with a bar of one step to either side."""
    ends = scale.down(number + measure.step), scale.down(number - measure.step)
    return Bar(SLOT * place + MIDDLE, scale.down(number), *ends, format_decimal(number))


def marks(latest: Sequence[Reading]) -> list[Mark]:
    """The day of each arrival, as below the strip."""
    found, before = list[Mark](), date.min
    for place, reading in enumerate(latest):
        day = reading.day
        month = f"{day:%b}" if (day.year, day.month) != (before.year, before.month) else ""
        year = str(day.year) if day.year != before.year else ""
        found.append(Mark(SLOT * place + MIDDLE, day.day, month, year))
        before = day
    return found


def description(latest: Sequence[Reading], measure: Measure) -> str:
    """The same in words, for those who do not see it."""
    found = [f"{on(each.day)} {measure.value(each.arrival)}" for each in latest if each.arrival is not None]
    return f"{'; '.join(found)}. {measure.usual_words}".strip()
