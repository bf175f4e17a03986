"""A value as it is shown: never finer than its uncertainty, with its 95 % interval, and what it cannot tell."""

import math
from dataclasses import dataclass
from decimal import Decimal

from lessons.measures import with_unit
from lessons.measuring.estimate import Estimate
from lessons.measuring.kinds import Kind

ONE_CAMERA = (
    "One camera sees no depth: this is true in the plane of the ball only, straight across; lens and tilt change it."
)
# How finely a value may be shown. The least that is no finer than the standard uncertainty rounds by 1.25 of it at
# most, so that a value as shown never leaves its own 95 % interval (1.96 of it).
STEPS = tuple(Decimal(digit).scaleb(power) for power in range(-2, 3) for digit in (1, 2, 5))


@dataclass(frozen=True)
class Shown:
    """A value in whole steps, and the ends of its interval, rounded outwards, all in one unit."""

    value: Decimal
    low: Decimal
    high: Decimal
    unit: str
    words: str  # which way an angle leans

    @property
    def text(self) -> str:
        """The value with its unit: "44 cm", "12°, to the left"."""
        return with_unit(f"{self.value:f}", self.unit) + (f", {self.words}" if self.words else "")

    @property
    def range(self) -> str:
        """The 95 % interval: "42 to 46 cm"."""
        return f"{self.low:f} to {with_unit(f'{self.high:f}', self.unit)}"


def shown(estimate: Estimate) -> Shown:
    """A value as it is shown."""
    step = step_for(estimate.uncertainty)
    low, high = (float(Decimal(repr(end)) / step) for end in estimate.interval)
    return Shown(
        value=step * math.floor(estimate.size / float(step) + 0.5),
        low=step * math.floor(low + 1e-9),
        high=step * math.ceil(high - 1e-9),
        unit=estimate.kind.form.unit,
        words=lean(estimate),
    )


def step_for(uncertainty: float) -> Decimal:
    """The least step of the row 1, 2, 5 that is no finer than a standard uncertainty."""
    return next((step for step in STEPS if step >= uncertainty), STEPS[-1])


def lean(estimate: Estimate) -> str:
    """Which way a line leans, where its interval is on one side of the vertical."""
    if estimate.kind is not Kind.UPRIGHT or estimate.interval[0] == 0:
        return ""
    return f"to the {'right' if estimate.value > 0 else 'left'}"
