"""The coordinates of two charts: the curve of putts holed by distance, and leaves as dots on a line.

All coordinates are SVG user units; on the narrowest phone one unit is about one pixel.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import ceil
from typing import NamedTuple

import numpy as np

from drills.putting.model import Array
from drills.putting.posterior import Estimate
from drills.putting.published import CLUB_PLAYERS, PROFESSIONALS, Published, published_share
from drills.putting.units import METRES
from lessons.progress.intervals import Share, wilson

WIDTH, LEFT, RIGHT = 320, 40, 12
PLOT = WIDTH - LEFT - RIGHT
TOP, TALL, BELOW = 10, 180, 34
NEAR_M, FAR_M, DRAWN_TO_M = 0.3, 6.096, 15.0
STEPS = 40  # places of the curve
EVERY = {"m": 1, "ft": 5}  # ticks
ROW, STACK, DOT = 22, 6, 2.5  # the label of a line of leaves, each further dot upon another, and its radius


class Tick(NamedTuple):
    """A tick of an axis: its coordinate and its label."""

    at: float
    label: str


class Whisker(NamedTuple):
    """A counted share as a dot with a whisker: its Wilson interval."""

    x: float
    y: float
    low: float
    high: float


@dataclass(frozen=True)
class CurvePicture:
    """The student's curve with its band, two published curves, and the counted shares."""

    line: str
    band: str
    professionals: str
    club_players: str
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
    """The distances of the curve in metres: up to 6 m, or as far as putts were counted."""
    far = min(DRAWN_TO_M, max([FAR_M, *counted]))
    return [float(place) for place in np.linspace(NEAR_M, far, STEPS)]


def curve_picture(
    curve: Sequence[Estimate], at: Sequence[float], counted: Mapping[float, Share], unit: str
) -> CurvePicture:
    """The curve leave_x its distances. Lengths in metres; `unit` is that of the ticks."""
    far = at[-1]
    placed = list(zip(at, curve, strict=True))
    band = [(place, each.high) for place, each in placed] + [(place, each.low) for place, each in reversed(placed)]
    size = METRES["ft" if unit == "ft" else "m"]
    ticks = range(0, int(far / size + 0.01) + 1, EVERY[unit] if far < 2 * FAR_M or unit == "ft" else 2)
    return CurvePicture(
        line=points(((place, each.middle) for place, each in placed), far),
        band=points(band, far),
        professionals=points(published_points(PROFESSIONALS, far), far),
        club_players=points(published_points(CLUB_PLAYERS, far), far),
        whiskers=[whisker(place, share, far) for place, share in counted.items() if place <= far],
        across=[Tick(x_of(size * tick, far), f"{tick}") for tick in ticks],
        up=[Tick(y_of(rate / 100), f"{rate}%") for rate in (0, 25, 50, 75, 100)],
    )


def published_points(published: Published, far: float) -> list[tuple[float, float]]:
    """A published curve, only from its first distance to its last."""
    feet = list(published.percent_by_feet)
    at: Array = np.linspace(feet[0] * METRES["ft"], min(far, feet[-1] * METRES["ft"]), STEPS)
    return list(zip(at.tolist(), published_share(published, at).tolist(), strict=True))


def whisker(place: float, share: Share, far: float) -> Whisker:
    """A counted share with its Wilson interval."""
    may_be = wilson(share)
    return Whisker(x_of(place, far), y_of(share.rate), y_of(may_be.low), y_of(may_be.high))


def x_of(place: float, far: float) -> float:
    """The x of a distance in metres."""
    return round(LEFT + PLOT * place / far, 1)


def y_of(rate: float) -> float:
    """The y of a share from 0 to 1."""
    return round(TOP + TALL * (1 - rate), 1)


def points(pairs: Iterable[tuple[float, float]], far: float) -> str:
    """Points in the notation of SVG."""
    return " ".join(f"{x_of(place, far):g},{y_of(rate):g}" for place, rate in pairs)


# --- Leaves -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class LeaveGroup:
    """Leaves from one distance in metres, short ones negative, and how many balls were holed; `label` names it."""

    label: str
    leaves_m: tuple[float, ...]
    holed: int
    has_hole: bool = True


@dataclass(frozen=True)
class Strip:
    """A group as dots on a line at `y`, its label at `top`; `size` is the unit of its leaves in metres."""

    group: LeaveGroup
    top: float
    y: float
    dots: list[tuple[float, float]]
    size: float

    @property
    def outline(self) -> str:
        """All dots as one path in the notation of SVG: a page with hundreds of elements takes long to write."""
        half = f"a{DOT:g} {DOT:g} 0 1 0"
        return "".join(f"M{x - DOT:g} {y:g}{half} {2 * DOT:g} 0{half} {-2 * DOT:g} 0" for x, y in self.dots)

    @property
    def short(self) -> int:
        """How many stopped short."""
        return sum(leave < 0 for leave in self.group.leaves_m)

    @property
    def past(self) -> int:
        """How many stopped at the hole or past it."""
        return len(self.group.leaves_m) - self.short

    @property
    def each(self) -> str:
        """Every leave, shortest first, those that are the same with their number."""
        counts = Counter(f"{leave / self.size:.1f}".replace("-", "−") for leave in sorted(self.group.leaves_m))
        return ", ".join(f"{leave} ({number} times)" if number > 1 else leave for leave, number in counts.items())


@dataclass(frozen=True)
class LeavesPicture:
    """One line for each group, with the hole at the same x on all."""

    strips: list[Strip]
    hole: float
    across: list[Tick]
    bottom: float
    width: int = WIDTH

    @property
    def height(self) -> float:
        """The height of the picture, with the axis."""
        return self.bottom + BELOW


def leaves_picture(groups: Sequence[LeaveGroup], unit: str, *, signed: bool) -> LeavesPicture:
    """The picture of leaves; if they are not `signed`, the hole is on the left. Raises ValueError for no leaves."""
    size = METRES["ft" if unit == "ft" else "m"]
    reach = max(1, ceil(max(abs(leave) / size for group in groups for leave in group.leaves_m)))
    low = -reach if signed else 0
    strips, y = [], 0.0
    for group in groups:
        top, y = y, y + ROW + STACK * highest_stack(group.leaves_m)
        strips.append(Strip(group, top, y, stacked(group.leaves_m, y, low * size, reach * size), size))
    every = max(1, ceil((reach - low) / 8))
    ticks = [tick for tick in range(low, reach + 1) if tick % every == 0]
    across = [Tick(leave_x(tick, low, reach), f"{abs(tick)}") for tick in ticks]
    return LeavesPicture(strips, leave_x(0, low, reach), across, y)


def highest_stack(leaves: Sequence[float]) -> int:
    """The number of dots in the highest stack."""
    return max(Counter(leaves).values(), default=1)


def stacked(leaves: Sequence[float], y: float, low: float, high: float) -> list[tuple[float, float]]:
    """A dot for each leave, equal ones stacked."""
    return [
        (leave_x(leave, low, high), y - DOT - 1 - STACK * above)
        for leave, number in sorted(Counter(leaves).items())
        for above in range(number)
    ]


def leave_x(leave: float, low: float, high: float) -> float:
    """The x of a leave in metres."""
    return round(12 + (WIDTH - 24) * (leave - low) / (high - low), 1)
