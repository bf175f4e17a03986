"""What a scored test holds, and the plain rows whose chances follow from it. Lengths in metres, angles in degrees."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, fields
from functools import reduce
from math import inf, isfinite

from drills.putting.hole import gate_error_deg

OVERSHOT_M = 0.3048  # how far past the hole a putt is meant to stop, and
TOLERANCE_M = 0.9144  # how far past it may run and still drop: 1 ft and 3 ft, Broadie (2018), cited by Gelman (2019)
FARTHEST_M = 60.0


@dataclass(frozen=True)
class Counted:
    """Putts from one distance. What was not recorded is None; push and pull may be said of some misses only.

    Raises ValueError for a distance or for counts that cannot be.
    """

    distance_m: float
    tried: int
    holed: int
    short: int | None = None
    push: int | None = None
    pull: int | None = None

    def __post_init__(self) -> None:
        check_distance(self.distance_m)
        check_finite(self.tried)
        if not 0 <= self.holed <= self.tried:
            raise ValueError(f"{self.holed} holed of {self.tried}")
        if self.short is not None and not 0 <= self.short <= self.missed:
            raise ValueError(f"{self.short} short of {self.missed} missed")
        if not (min(self.push or 0, self.pull or 0) >= 0 and self.sided <= self.missed):
            raise ValueError(f"{self.sided} beside of {self.missed} missed")

    @property
    def missed(self) -> int:
        """Putts that were not holed."""
        return self.tried - self.holed

    @property
    def sided(self) -> int:
        """Misses whose side is known."""
        return (self.push or 0) + (self.pull or 0)


@dataclass(frozen=True)
class Leaves:
    """Putts from one distance, each by how far past the hole it stopped (short is negative), to within a step.

    `holed` more dropped; without a hole, on a line or a tee, none could. Raises ValueError as `Counted` does.
    """

    distance_m: float
    leaves_m: tuple[float, ...]
    step_m: float
    holed: int = 0
    hole: bool = True

    def __post_init__(self) -> None:
        check_distance(self.distance_m)
        check_finite(self.step_m, self.holed, *self.leaves_m)
        if self.step_m <= 0 or self.holed < 0 or (self.holed and not self.hole):
            raise ValueError("leaves are measured in steps, and only a hole takes a ball")
        if any(leave < -self.distance_m - self.step_m for leave in self.leaves_m):
            raise ValueError("a ball cannot stop behind where it lay")


@dataclass(frozen=True)
class Gated:
    """Balls through a gate of two posts. Raises ValueError for a gate or for counts that cannot be."""

    distance_m: float
    width_m: float
    passed: int
    push: int = 0
    pull: int = 0
    beside: int = 0  # missed the gate, and nobody said on which side

    def __post_init__(self) -> None:
        check_distance(self.distance_m)
        gate_error_deg(self.distance_m, self.width_m)
        check_finite(self.passed, self.push, self.pull, self.beside)
        if min(self.passed, self.push, self.pull, self.beside) < 0:
            raise ValueError("counts are not negative")


Record = Counted | Leaves | Gated


def check_distance(distance_m: float) -> None:
    """Refuse a putt that is none, or longer than any green."""
    if not 0 < distance_m <= FARTHEST_M:
        raise ValueError(f"a putt of {distance_m} m cannot be")


def check_finite(*numbers: float) -> None:
    """Refuse what is no number, or without end."""
    if not all(map(isfinite, numbers)):
        raise ValueError("these are not all numbers")


Span = tuple[float, float]
ALL: Span = (-inf, inf)
SHORT: Span = (-inf, 0.0)
PAST: Span = (0.0, inf)


@dataclass(frozen=True)
class Putts:
    """So many putts that, without the hole, would have stopped within a span of metres seen from it.

    `dropped` says what became of those that reached it; it is None where there was no hole, on a line or a tee.
    """

    number: int
    distance_m: float
    stops: Span
    dropped: bool | None


@dataclass(frozen=True)
class Sides:
    """Of the misses at a distance, how many went to either side; `short` of them were short, or None: not recorded."""

    push: int
    pull: int
    distance_m: float
    missed: int
    short: int | None


@dataclass(frozen=True)
class Starts:
    """So many balls whose start line lay within one of some spans of degrees, push positive."""

    number: int
    within: tuple[Span, ...]


@dataclass(frozen=True)
class Rows:
    """What some records come to, those of nothing left out."""

    putts: list[Putts]
    sides: list[Sides]
    starts: list[Starts]


def rows_of(records: Iterable[Record]) -> Rows:
    """The rows of all records together."""
    rows = Rows([], [], [])
    for record in pooled(records):
        if isinstance(record, Gated):
            rows.starts.extend(gate_rows(record))
        elif isinstance(record, Leaves):
            rows.putts.extend(leave_rows(record))
        else:
            rows.putts.extend(counted_rows(record))
            rows.sides.extend(side_rows(record))
    return Rows([row for row in rows.putts if row.number], rows.sides, [row for row in rows.starts if row.number])


def pooled(records: Iterable[Record]) -> list[Record]:
    """The same records, those of one kind from one distance as one."""
    kinds: dict[tuple[object, ...], list[Record]] = {}
    for record in records:
        kinds.setdefault(kind_of(record), []).append(record)
    return [reduce(joined, alike) for alike in kinds.values()]


def kind_of(record: Record) -> tuple[object, ...]:
    """What two records must have in common to be one."""
    if isinstance(record, Counted):
        return Counted, record.distance_m, record.short is None
    if isinstance(record, Leaves):
        return Leaves, record.distance_m, record.step_m, record.hole
    return Gated, record.distance_m, record.width_m


def joined(one: Record, other: Record) -> Record:
    """Two of a kind as one."""
    both = {field.name: getattr(one, field.name) for field in fields(one)}
    for name in SUMMED[type(one)]:
        counts = [count for count in (getattr(one, name), getattr(other, name)) if count is not None]
        both[name] = sum(counts[1:], counts[0]) if counts else None
    return type(one)(**both)


SUMMED: dict[type[Record], tuple[str, ...]] = {
    Counted: ("tried", "holed", "short", "push", "pull"),
    Leaves: ("leaves_m", "holed"),
    Gated: ("passed", "push", "pull", "beside"),
}


def counted_rows(record: Counted) -> list[Putts]:
    """Holed, short and the rest; or only holed and missed where nobody said what was short."""
    distance, missed = record.distance_m, record.missed
    holed = Putts(record.holed, distance, ALL, dropped=True)
    if record.short is None:
        return [holed, Putts(missed, distance, ALL, dropped=False)]
    short = Putts(record.short, distance, SHORT, dropped=False)
    return [holed, short, Putts(missed - record.short, distance, PAST, dropped=False)]


def side_rows(record: Counted) -> list[Sides]:
    """The sides of the misses, as far as they are known."""
    if not record.sided:
        return []
    return [Sides(record.push or 0, record.pull or 0, record.distance_m, record.missed, record.short)]


def leave_rows(record: Leaves) -> list[Putts]:
    """Each leave with the half step to either side within which it was measured."""
    half, distance = record.step_m / 2, record.distance_m
    dropped = False if record.hole else None
    steps = Counter(record.leaves_m).items()
    leaves = [Putts(number, distance, (leave - half, leave + half), dropped) for leave, number in steps]
    return [*leaves, Putts(record.holed, distance, ALL, dropped=True)]


def gate_rows(record: Gated) -> list[Starts]:
    """Through the gate, beside it to either side, or beside it."""
    error = gate_error_deg(record.distance_m, record.width_m)
    push, pull = (error, inf), (-inf, -error)
    return [
        Starts(record.passed, ((-error, error),)),
        Starts(record.push, (push,)),
        Starts(record.pull, (pull,)),
        Starts(record.beside, (pull, push)),
    ]
