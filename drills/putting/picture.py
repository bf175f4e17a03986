"""Where the parts of a putter's pictures stand: the curve of putts holed, and leaves as dots on a line.

All lengths are units of the picture's own; on the narrowest phone one unit is about one pixel.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import ceil
from typing import NamedTuple

import numpy as np

from drills.putting.baselines import GOLFER_90, TOUR, Published, make_rate
from drills.putting.model import Array
from drills.putting.posterior import Estimate
from drills.putting.units import METRES
from lessons.progress.intervals import Share, wilson

WIDTH, LEFT, RIGHT = 320, 40, 12
PLOT = WIDTH - LEFT - RIGHT
TOP, TALL, BELOW = 10, 180, 34
NEAR_M, FAR_M, FARTHEST_M = 0.3, 6.096, 15.0
STEPS = 40  # places of the curve
EVERY = {"m": 1, "ft": 5}  # ticks
ROW, STACK, DOT = 22, 6, 2.5  # the label of a line of leaves, each further dot upon another, and its radius


class Tick(NamedTuple):
    """A place on an axis and its label."""

    at: float
    label: str


class Whisker(NamedTuple):
    """A share that was counted, and where its interval begins and ends."""

    x: float
    y: float
    low: float
    high: float


@dataclass(frozen=True)
class CurvePicture:
    """The student's curve in its band, the published ones where they are printed, and the counted shares."""

    line: str
    band: str
    tour: str
    golfer: str
    whiskers: list[Whisker]
    across: list[Tick]
    up: list[Tick]
    width: int = WIDTH
    left: int = LEFT
    top: int = TOP
    bottom: int = TOP + TALL
    right: int = WIDTH - RIGHT
    height: int = TOP + TALL + BELOW


def places(counted: Mapping[float, Share]) -> list[float]:
    """The distances of the curve: to 20 ft, or as far as putts were counted."""
    far = min(FARTHEST_M, max([FAR_M, *counted]))
    return [float(place) for place in np.linspace(NEAR_M, far, STEPS)]


def curve_picture(
    curve: Sequence[Estimate], at: Sequence[float], counted: Mapping[float, Share], unit: str
) -> CurvePicture:
    """The curve over its distances. Lengths in metres; `unit` is that of the ticks."""
    far = at[-1]
    band = [(place, each.high) for place, each in zip(at, curve, strict=True)]
    band += [(place, each.low) for place, each in reversed(list(zip(at, curve, strict=True)))]
    size = METRES["ft" if unit == "ft" else "m"]
    ticks = range(0, int(far / size + 0.01) + 1, EVERY[unit] if far < 2 * FAR_M or unit == "ft" else 2)
    return CurvePicture(
        line=points(((place, each.middle) for place, each in zip(at, curve, strict=True)), far),
        band=points(band, far),
        tour=points(printed(TOUR, far), far),
        golfer=points(printed(GOLFER_90, far), far),
        whiskers=[whisker(place, share, far) for place, share in counted.items() if place <= far],
        across=[Tick(right(size * tick, far), f"{tick}") for tick in ticks],
        up=[Tick(down(rate / 100), f"{rate}%") for rate in (0, 25, 50, 75, 100)],
    )


def printed(published: Published, far: float) -> list[tuple[float, float]]:
    """A published curve, only from its first distance to its last."""
    feet = list(published.percent_by_feet)
    at: Array = np.linspace(feet[0] * METRES["ft"], min(far, feet[-1] * METRES["ft"]), STEPS)
    return list(zip(at.tolist(), make_rate(published, at).tolist(), strict=True))


def whisker(place: float, share: Share, far: float) -> Whisker:
    """A counted share with its Wilson interval."""
    may_be = wilson(share)
    return Whisker(right(place, far), down(share.rate), down(may_be.low), down(may_be.high))


def right(place: float, far: float) -> float:
    """How far to the right a distance stands."""
    return round(LEFT + PLOT * place / far, 1)


def down(rate: float) -> float:
    """How far down a share stands."""
    return round(TOP + TALL * (1 - rate), 1)


def points(pairs: Iterable[tuple[float, float]], far: float) -> str:
    """Places as SVG writes them."""
    return " ".join(f"{right(place, far):g},{down(rate):g}" for place, rate in pairs)


# --- Leaves -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Pile:
    """Leaves from one distance in metres, short ones negative, and how many balls were holed; `label` says whence."""

    label: str
    leaves_m: tuple[float, ...]
    holed: int
    has_hole: bool = True


@dataclass(frozen=True)
class Strip:
    """A pile as dots upon a line at `y`; its label begins at `top`, and its leaves are told in `unit`."""

    pile: Pile
    top: float
    y: float
    dots: list[tuple[float, float]]
    size: float

    @property
    def short(self) -> int:
        """How many stopped short."""
        return sum(leave < 0 for leave in self.pile.leaves_m)

    @property
    def past(self) -> int:
        """How many stopped at the hole or past it."""
        return len(self.pile.leaves_m) - self.short

    @property
    def each(self) -> str:
        """Every leave, shortest first, those that are the same with their number."""
        told = Counter(f"{leave / self.size:.1f}".replace("-", "−") for leave in sorted(self.pile.leaves_m))
        return ", ".join(f"{leave} ({number} times)" if number > 1 else leave for leave, number in told.items())


@dataclass(frozen=True)
class LeavesPicture:
    """A line for each pile, with the hole at the same place on all."""

    strips: list[Strip]
    hole: float
    across: list[Tick]
    bottom: float
    width: int = WIDTH
    radius: float = DOT

    @property
    def height(self) -> float:
        """The height of it all, with the axis."""
        return self.bottom + BELOW


def leaves_picture(piles: Sequence[Pile], unit: str, *, signed: bool) -> LeavesPicture:
    """The leaves on lines; without a sign the hole stands on the left. Raises ValueError for none."""
    size = METRES["ft" if unit == "ft" else "m"]
    reach = max(1, ceil(max(abs(leave) / size for pile in piles for leave in pile.leaves_m)))
    low = -reach if signed else 0
    strips, y = [], 0.0
    for pile in piles:
        top, y = y, y + ROW + STACK * highest(pile.leaves_m)
        strips.append(Strip(pile, top, y, stacked(pile.leaves_m, y, low * size, reach * size), size))
    every = max(1, ceil((reach - low) / 8))
    ticks = [tick for tick in range(low, reach + 1) if tick % every == 0]
    across = [Tick(over(tick, low, reach), f"{abs(tick)}") for tick in ticks]
    return LeavesPicture(strips, over(0, low, reach), across, y)


def highest(leaves: Sequence[float]) -> int:
    """How many dots stand upon another at most."""
    return max(Counter(leaves).values(), default=1)


def stacked(leaves: Sequence[float], y: float, low: float, high: float) -> list[tuple[float, float]]:
    """Every leave as a dot on the line, those that are the same upon one another."""
    return [
        (over(leave, low, high), y - DOT - 1 - STACK * above)
        for leave, number in sorted(Counter(leaves).items())
        for above in range(number)
    ]


def over(leave: float, low: float, high: float) -> float:
    """How far to the right a leave stands."""
    return round(12 + (WIDTH - 24) * (leave - low) / (high - low), 1)
