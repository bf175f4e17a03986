"""Whether the intervals of a putter hold the truth: putters and their balls drawn, and what their records say of them.

The putters are of all levels: a start-line error of 0.8 to 4 degrees and a pace error of 5 to 25 %, each as likely at
any size on a log scale; biases are normal with spreads of half a degree and 5 %.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from drills.putting.hole import gate_error_deg, largest_error_deg
from drills.putting.normal import LINE, LINE_BIAS, PACE, PACE_BIAS, Array
from drills.putting.observations import OVERSHOT_M, TOLERANCE_M, Counted, Gated, Leaves, Record
from drills.putting.posterior import Estimate, Posterior, posterior

FROM, TO = np.log([0.8, 0.05]), np.log([4.0, 0.25])
BIASES = np.array([0.5, 0.05])
LADDER_M = (1.0, 1.5, 2.0, 3.0, 5.0, 8.0)
NAMES = ("start line", "its bias", "pace", "its bias")
Test = Callable[[np.random.Generator, Array], list[Record]]


# --- Putters and their balls --------------------------------------------------------------------


def putter(rng: np.random.Generator, biased: bool = True) -> Array:
    """One of the putters: (4,), as the model has them."""
    line, pace = rng.uniform(FROM, TO)
    line_bias, pace_bias = rng.normal(0, BIASES) * biased
    return np.array([line, line_bias, pace, pace_bias])


def starts_of(rng: np.random.Generator, theta: Array, number: int) -> Array:
    """The start lines of so many balls, in degrees."""
    return rng.normal(theta[LINE_BIAS], np.exp(theta[LINE]), number)


def balls(
    rng: np.random.Generator, theta: Array, distance_m: float, number: int
) -> tuple[Array, Array, NDArray[np.bool_]]:
    """So many putts from a distance: start lines, where they would stop seen from the hole, and which dropped."""
    starts = starts_of(rng, theta, number)
    rolled = (distance_m + OVERSHOT_M) * (1 + rng.normal(theta[PACE_BIAS], np.exp(theta[PACE]), number))
    stops = rolled - distance_m
    return starts, stops, (np.abs(starts) < largest_error_deg(distance_m)) & (stops > 0) & (stops < TOLERANCE_M)


def leaves(rng: np.random.Generator, theta: Array, distance_m: float, number: int, step_m: float) -> Leaves:
    """So many measured leaves at a hole."""
    _, stops, dropped = balls(rng, theta, distance_m, number)
    measured = np.maximum(np.round(stops[~dropped] / step_m) * step_m, -distance_m)
    return Leaves(distance_m, tuple(measured.tolist()), step_m, holed=int(dropped.sum()))


def gated(rng: np.random.Generator, theta: Array, distance_m: float, number: int, width_m: float) -> Gated:
    """So many balls at a gate."""
    starts, error = starts_of(rng, theta, number), gate_error_deg(distance_m, width_m)
    push, pull = int((starts > error).sum()), int((starts < -error).sum())
    return Gated(distance_m, width_m, number - push - pull, push, pull)


def counted(rng: np.random.Generator, theta: Array, distance_m: float, number: int) -> Counted:
    """So many putts of which all was noted."""
    starts, stops, dropped = balls(rng, theta, distance_m, number)
    short, push = int((~dropped & (stops < 0)).sum()), int((~dropped & (starts > 0)).sum())
    missed = number - int(dropped.sum())
    return Counted(distance_m, number, number - missed, short, push, missed - push)


def without_sides(record: Counted) -> Counted:
    """The same putts, with nobody watching the side."""
    return replace(record, push=None, pull=None)


# --- Tests --------------------------------------------------------------------------------------


def leaves_and_gate(rng: np.random.Generator, theta: Array) -> list[Record]:
    """Twenty leaves from six metres, paced, and twenty balls through a gate of 10 cm a metre away."""
    return [leaves(rng, theta, 6.0, 20, 0.9), gated(rng, theta, 1.0, 20, 0.1)]


def ladder(rng: np.random.Generator, theta: Array, number: int) -> list[Counted]:
    """So many putts over the ladder with all that can be noted."""
    return [counted(rng, theta, distance, number // len(LADDER_M)) for distance in LADDER_M]


def all_noted(number: int) -> Test:
    """So many putts over the ladder: holed, short or past, push or pull."""
    return lambda rng, theta: [*ladder(rng, theta, number)]


def short_noted(number: int) -> Test:
    """So many putts over the ladder: holed, short or past."""
    return lambda rng, theta: [without_sides(each) for each in ladder(rng, theta, number)]


TESTS: dict[str, Test] = {
    "20 leaves, 20 at a gate": leaves_and_gate,
    "30 putts, all noted": all_noted(30),
    "60 putts, all noted": all_noted(60),
    "120 putts, all noted": all_noted(120),
    "30 putts, holed or short": short_noted(30),
    "120 putts, holed or short": short_noted(120),
}


# --- What they say ------------------------------------------------------------------------------


def told(found: Posterior) -> list[Estimate]:
    """The four estimates in the model's order."""
    return [found.line_deg, found.line_bias_deg, found.pace, found.pace_bias]


@dataclass(frozen=True)
class Held:
    """The share of putters whose truth lay inside, for each parameter; none for one that the test is silent on."""

    shares: tuple[float | None, ...]
    putters: int

    @property
    def error(self) -> float:
        """One standard error of a share of 95 %."""
        return float(np.sqrt(0.95 * 0.05 / self.putters))


def held(test: Test, putters: int, seed: int) -> Held:
    """How often a test's intervals hold the truth of putters drawn."""
    rng = np.random.default_rng(seed)
    inside, free = np.zeros(4), np.zeros(4, dtype=bool)
    for _ in range(putters):
        theta = putter(rng)
        found = posterior(test(rng, theta))
        truth = [np.exp(theta[LINE]), theta[LINE_BIAS], np.exp(theta[PACE]), theta[PACE_BIAS]]
        inside += [each.low <= value <= each.high for each, value in zip(told(found), truth, strict=True)]
        free |= found.free
    return Held(tuple(float(n / putters) if known else None for n, known in zip(inside, free, strict=True)), putters)


@dataclass(frozen=True)
class Narrower:
    """The width of the pace interval with shorts noted, as a share of that of makes alone: of its log, and as it is."""

    log: float
    plain: float


def narrower(putters: int, number: int, seed: int) -> Narrower:
    """What noting the short ones does to pace, in the middle of some putters without bias."""
    rng = np.random.default_rng(seed)
    widths = [compared(ladder(rng, putter(rng, biased=False), number)) for _ in range(putters)]
    log, plain = np.median(widths, axis=0)
    return Narrower(float(log), float(plain))


def compared(records: Sequence[Counted]) -> tuple[float, float]:
    """The widths of the pace interval with the short ones against those without."""
    short = [without_sides(record) for record in records]
    noted, makes = posterior(short).pace, posterior([replace(record, short=None) for record in short]).pace
    log = np.log(noted.high / noted.low) / np.log(makes.high / makes.low)
    return float(log), (noted.high - noted.low) / (makes.high - makes.low)
