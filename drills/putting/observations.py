"""What was observed at one distance of a scored test, and the rows of the likelihood. Metres and degrees."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, fields
from functools import reduce
from math import inf, isfinite

from drills.putting.hole import gate_error_deg

# Broadie (2018), cited by Gelman (2019): the player aims to stop 1 ft past the hole, and a ball that would stop up to
# 3 ft past it can still drop. At a line or a tee the aim is the place itself.
OVERSHOT_M = 0.3048
TOLERANCE_M = 0.9144
FURTHEST_M = 60.0


@dataclass(frozen=True)
class Counted:
    """Putts from one distance. What was not recorded is None; push and pull may be known of some misses only.

    Raises ValueError for a distance or for counts that cannot be.
    """

    distance_m: float
    tried: int
    holed: int
    short: int | None = None
    push: int | None = None
    pull: int | None = None
    past_m: float = OVERSHOT_M  # how far past the hole the player is to stop

    def __post_init__(self) -> None:
        check_distance(self.distance_m)
        check_finite(self.tried, self.past_m)
        check_intended(self.intended_m)
        if not 0 <= self.holed <= self.tried:
            raise ValueError(f"{self.holed} holed of {self.tried}")
        if self.short is not None and not 0 <= self.short <= self.missed:
            raise ValueError(f"{self.short} short of {self.missed} missed")
        if not (min(self.push or 0, self.pull or 0) >= 0 and self.sided <= self.missed):
            raise ValueError(f"{self.sided} beside of {self.missed} missed")

    @property
    def missed(self) -> int:
        """PuttRow that were not holed."""
        return self.tried - self.holed

    @property
    def intended_m(self) -> float:
        """How long a putt is meant to be, without the hole."""
        return self.distance_m + self.past_m

    @property
    def sided(self) -> int:
        """Misses whose side is known."""
        return (self.push or 0) + (self.pull or 0)


@dataclass(frozen=True)
class Leaves:
    """Putts from one distance, each by how far past the hole it stopped (short is negative), to the nearest step.

    `holed` more dropped; putts to a line or a tee have no hole. `past_m` is how far past the player is to stop: by
    default a foot past a hole, and at a line. Raises ValueError as `Counted` does.
    """

    distance_m: float
    leaves_m: tuple[float, ...]
    step_m: float
    holed: int = 0
    hole: bool = True
    past_m: float | None = None

    def __post_init__(self) -> None:
        check_distance(self.distance_m)
        check_finite(self.step_m, self.holed, self.intended_m, *self.leaves_m)
        check_intended(self.intended_m)
        if self.step_m <= 0 or self.holed < 0 or (self.holed and not self.hole):
            raise ValueError("a step is above 0 m, and balls drop only where there is a hole")
        if any(leave < -self.distance_m - self.step_m for leave in self.leaves_m):
            raise ValueError("a ball cannot stop behind the place that it was hit from")

    @property
    def intended_m(self) -> float:
        """How long a putt is meant to be, without the hole."""
        return self.distance_m + (OVERSHOT_M * self.hole if self.past_m is None else self.past_m)


@dataclass(frozen=True)
class Gated:
    """Balls through a gate of two posts. Raises ValueError for a gate or for counts that cannot be."""

    distance_m: float
    width_m: float
    passed: int
    push: int = 0
    pull: int = 0
    beside: int = 0  # missed the gate, side not recorded

    def __post_init__(self) -> None:
        check_distance(self.distance_m)
        gate_error_deg(self.distance_m, self.width_m)
        check_finite(self.passed, self.push, self.pull, self.beside)
        if min(self.passed, self.push, self.pull, self.beside) < 0:
            raise ValueError("counts are not negative")

    @property
    def balls(self) -> int:
        """All balls, through the gate or not."""
        return self.passed + self.push + self.pull + self.beside


Observation = Counted | Leaves | Gated


def check_distance(distance_m: float) -> None:
    """Raise ValueError for a putt of 0 m or less, or one longer than any green."""
    if not 0 < distance_m <= FURTHEST_M:
        raise ValueError(f"a putt is above 0 and up to {FURTHEST_M:g} m long, not {distance_m} m")


def check_intended(intended_m: float) -> None:
    """Raise ValueError for a putt that is not meant to move."""
    if intended_m <= 0:
        raise ValueError(f"a putt is meant to roll, not {intended_m} m")


def check_finite(*numbers: float) -> None:
    """Raise ValueError for NaN or infinity."""
    if not all(map(isfinite, numbers)):
        raise ValueError("a number is NaN or infinite")


Span = tuple[float, float]
ANYWHERE: Span = (-inf, inf)
SHORT: Span = (-inf, 0.0)
PAST: Span = (0.0, inf)


@dataclass(frozen=True)
class PuttRow:
    """So many putts that, without the hole, would have stopped within a span of metres past it (short is negative).

    `intended_m` is how long they were meant to be. `dropped` is None where there was no hole: putts to a line or a tee.
    """

    number: int
    distance_m: float
    intended_m: float
    stops: Span
    dropped: bool | None


def is_measured(row: PuttRow) -> bool:
    """Whether it is known how far these putts went, and not only to which side of the hole."""
    return all(map(isfinite, row.stops))


@dataclass(frozen=True)
class SideRow:
    """How many of the misses from a distance went to either side; `short` of them were short, None if not recorded."""

    push: int
    pull: int
    distance_m: float
    intended_m: float
    missed: int
    short: int | None


@dataclass(frozen=True)
class StartRow:
    """So many balls whose start line lay within one of some spans of degrees, push positive."""

    number: int
    spans: tuple[Span, ...]


@dataclass(frozen=True)
class Rows:
    """The rows of some observations, without those of no balls."""

    putts: list[PuttRow]
    sides: list[SideRow]
    starts: list[StartRow]


def rows_from(observations: Iterable[Observation]) -> Rows:
    """The rows of all observations together."""
    rows = Rows([], [], [])
    for observation in pool(observations):
        if isinstance(observation, Gated):
            rows.starts.extend(gate_rows(observation))
        elif isinstance(observation, Leaves):
            rows.putts.extend(leave_rows(observation))
        else:
            rows.putts.extend(counted_rows(observation))
            rows.sides.extend(side_rows(observation))
    return Rows([row for row in rows.putts if row.number], rows.sides, [row for row in rows.starts if row.number])


def pool(observations: Iterable[Observation]) -> list[Observation]:
    """The same observations, with those of one kind from one distance merged."""
    kinds: dict[tuple[object, ...], list[Observation]] = {}
    for observation in observations:
        kinds.setdefault(pooling_key(observation), []).append(observation)
    return [reduce(merge, alike) for alike in kinds.values()]


def pooling_key(observation: Observation) -> tuple[object, ...]:
    """What two observations must have in common to be merged."""
    if isinstance(observation, Counted):
        return Counted, observation.distance_m, observation.past_m, observation.short is None
    if isinstance(observation, Leaves):
        return Leaves, observation.distance_m, observation.intended_m, observation.step_m, observation.hole
    return Gated, observation.distance_m, observation.width_m


def merge(one: Observation, other: Observation) -> Observation:
    """Two observations with the same pooling key as one."""
    both = {field.name: getattr(one, field.name) for field in fields(one)}
    for name in SUMMED[type(one)]:
        counts = [count for count in (getattr(one, name), getattr(other, name)) if count is not None]
        both[name] = sum(counts[1:], counts[0]) if counts else None
    return type(one)(**both)


SUMMED: dict[type[Observation], tuple[str, ...]] = {
    Counted: ("tried", "holed", "short", "push", "pull"),
    Leaves: ("leaves_m", "holed"),
    Gated: ("passed", "push", "pull", "beside"),
}


def counted_rows(observation: Counted) -> list[PuttRow]:
    """Holed, short and past; or only holed and missed where short was not recorded."""
    missed, putt = observation.missed, (observation.distance_m, observation.intended_m)
    holed = PuttRow(observation.holed, *putt, ANYWHERE, dropped=True)
    if observation.short is None:
        return [holed, PuttRow(missed, *putt, ANYWHERE, dropped=False)]
    short = PuttRow(observation.short, *putt, SHORT, dropped=False)
    return [holed, short, PuttRow(missed - observation.short, *putt, PAST, dropped=False)]


def side_rows(observation: Counted) -> list[SideRow]:
    """The sides of the misses, as far as they are known."""
    if not observation.sided:
        return []
    putt = observation.distance_m, observation.intended_m
    return [SideRow(observation.push or 0, observation.pull or 0, *putt, observation.missed, observation.short)]


def leave_rows(observation: Leaves) -> list[PuttRow]:
    """Each leave with half a step to either side, since it was measured to the nearest step."""
    half, putt = observation.step_m / 2, (observation.distance_m, observation.intended_m)
    dropped = False if observation.hole else None
    steps = Counter(observation.leaves_m).items()
    leaves = [PuttRow(number, *putt, (leave - half, leave + half), dropped) for leave, number in steps]
    return [*leaves, PuttRow(observation.holed, *putt, ANYWHERE, dropped=True)]


def gate_rows(observation: Gated) -> list[StartRow]:
    """Through the gate, past it on either side, or past it on an unknown side."""
    error = gate_error_deg(observation.distance_m, observation.width_m)
    push, pull = (error, inf), (-inf, -error)
    return [
        StartRow(observation.passed, ((-error, error),)),
        StartRow(observation.push, (push,)),
        StartRow(observation.pull, (pull,)),
        StartRow(observation.beside, (pull, push)),
    ]
