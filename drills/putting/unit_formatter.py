"""How lengths, sides and intervals are written for one reader: the academy's unit, the side that was played from."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from drills.putting.lengths import format_length
from drills.putting.observations import OVERSHOT_M
from drills.putting.posterior import Estimate
from drills.putting.units import METRES, from_metres
from lessons.progress.sentences import percent
from lessons.wording import render

HALVES = {0.0: "", 0.5: "½"}


@dataclass(frozen=True)
class UnitFormatter:
    """Writes lengths in the academy's unit, and push and pull as left or right of the player."""

    unit: Literal["m", "ft"]
    side: str

    @property
    def push_side(self) -> str:
        """Where a push goes: "to the right" for a player of the right side."""
        return render("{open}", self.side)

    @property
    def pull_side(self) -> str:
        """Where a pull goes."""
        return render("{closed}", self.side)

    @property
    def overshot(self) -> str:
        """How far past the hole a player aims to stop."""
        return format_length(OVERSHOT_M, self.unit)

    @property
    def step(self) -> str:
        """How long a step is, since lengths are also given in steps."""
        return f"One step is about {format_length(METRES['step'], self.unit)}."

    def length(self, metres: float) -> str:
        """An estimated length: to 0.1 m or half a foot, from 10 on to a whole one."""
        if self.unit == "ft":
            feet = from_metres(metres, "ft")
            return f"{round(2 * feet) / 2 if feet < 10 else round(feet):g} ft"
        return f"{round(metres, 1 if metres < 10 else 0):g} m"

    def gate_width(self, metres: float) -> str:
        """The width of a gate, to half a centimetre or a tenth of an inch."""
        return f"{from_metres(metres, 'in'):.1f} in" if self.unit == "ft" else f"{round(200 * metres) / 2:g} cm"

    def length_in_steps(self, metres: float) -> str:
        """A length with its number of steps."""
        return f"{self.length(metres)} ({steps(metres)})"

    def speed(self, mps: float) -> str:
        """A speed in the academy's unit a second."""
        return f"{from_metres(mps, 'ft'):.1f} ft/s" if self.unit == "ft" else f"{mps:.1f} m/s"


def steps(metres: float) -> str:
    """A length in half steps."""
    halves = round(2 * from_metres(metres, "step"))
    if halves < 2:
        return "half a step" if halves else "less than half a step"
    return f"{halves // 2}{HALVES[halves % 2 / 2]} {'step' if halves == 2 else 'steps'}"


def degrees(value: float) -> str:
    """An angle with one decimal."""
    return f"{value:.1f}°"


def interval(estimate: Estimate, form: Callable[[float], str] = percent) -> str:
    """The two ends of the 95 % interval."""
    return f"{form(estimate.low)} to {form(estimate.high)}"
