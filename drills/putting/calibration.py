"""The coverage of the 95 % intervals of a putter: putters and their balls are drawn, then estimated.

The putters are of all levels: a start-line error of 0.8 to 4 degrees and a pace error of 5 to 25 %, each as likely at
any size on a log scale; biases are normal with spreads of half a degree and 5 %.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from drills.putting.hole import gate_error_deg, largest_error_deg
from drills.putting.normal import LINE, LINE_BIAS, PACE, PACE_BIAS, Array
from drills.putting.observations import OVERSHOT_M, TOLERANCE_M, Counted, Gated, Leaves, Observation
from drills.putting.posterior import Estimate, Posterior, compute_posterior

LEAST, MOST = np.log([0.8, 0.05]), np.log([4.0, 0.25])
BIASES = np.array([0.5, 0.05])
LADDER_M = (1.0, 1.5, 2.0, 3.0, 5.0, 8.0)
PARAMETER_NAMES = ("start line", "its bias", "pace", "its bias")
Test = Callable[[np.random.Generator, Array], list[Observation]]


# --- Putters and their balls --------------------------------------------------------------------


def draw_putter(rng: np.random.Generator, biased: bool = True) -> Array:
    """A putter drawn at random: the four parameters of the model, (4,)."""
    line, pace = rng.uniform(LEAST, MOST)
    line_bias, pace_bias = rng.normal(0, BIASES) * biased
    return np.array([line, line_bias, pace, pace_bias])


def draw_start_lines(rng: np.random.Generator, theta: Array, number: int) -> Array:
    """The start lines of so many balls, in degrees."""
    return rng.normal(theta[LINE_BIAS], np.exp(theta[LINE]), number)


def draw_balls(
    rng: np.random.Generator, theta: Array, distance_m: float, number: int
) -> tuple[Array, Array, NDArray[np.bool_]]:
    """So many putts from a distance: start lines in degrees, stops in metres past the hole, and which dropped."""
    starts = draw_start_lines(rng, theta, number)
    rolled = (distance_m + OVERSHOT_M) * (1 + rng.normal(theta[PACE_BIAS], np.exp(theta[PACE]), number))
    stops = rolled - distance_m
    return starts, stops, (np.abs(starts) < largest_error_deg(distance_m)) & (stops > 0) & (stops < TOLERANCE_M)


def draw_leaves(rng: np.random.Generator, theta: Array, distance_m: float, number: int, step_m: float) -> Leaves:
    """So many putts at a hole with their leaves measured."""
    _, stops, dropped = draw_balls(rng, theta, distance_m, number)
    measured = np.maximum(np.round(stops[~dropped] / step_m) * step_m, -distance_m)
    return Leaves(distance_m, tuple(measured.tolist()), step_m, holed=int(dropped.sum()))


def draw_gate_balls(rng: np.random.Generator, theta: Array, distance_m: float, number: int, width_m: float) -> Gated:
    """So many balls at a gate."""
    starts, error = draw_start_lines(rng, theta, number), gate_error_deg(distance_m, width_m)
    push, pull = int((starts > error).sum()), int((starts < -error).sum())
    return Gated(distance_m, width_m, number - push - pull, push, pull)


def draw_counted_putts(rng: np.random.Generator, theta: Array, distance_m: float, number: int) -> Counted:
    """So many putts with everything noted: holed or not, short or past, and the side."""
    starts, stops, dropped = draw_balls(rng, theta, distance_m, number)
    short, push = int((~dropped & (stops < 0)).sum()), int((~dropped & (starts > 0)).sum())
    missed = number - int(dropped.sum())
    return Counted(distance_m, number, number - missed, short, push, missed - push)


def without_sides(observation: Counted) -> Counted:
    """The same putts with the side not noted."""
    return replace(observation, push=None, pull=None)


# --- Tests --------------------------------------------------------------------------------------


def leaves_and_gate(rng: np.random.Generator, theta: Array) -> list[Observation]:
    """Twenty leaves from six metres, measured in steps, and twenty balls through a gate of 10 cm a metre away."""
    return [draw_leaves(rng, theta, 6.0, 20, 0.9), draw_gate_balls(rng, theta, 1.0, 20, 0.1)]


def draw_ladder(rng: np.random.Generator, theta: Array, number: int) -> list[Counted]:
    """So many putts over the distances of the ladder with everything noted."""
    return [draw_counted_putts(rng, theta, distance, number // len(LADDER_M)) for distance in LADDER_M]


def all_noted(number: int) -> Test:
    """So many putts over the ladder: holed, short or past, push or pull."""
    return lambda rng, theta: [*draw_ladder(rng, theta, number)]


def short_noted(number: int) -> Test:
    """So many putts over the ladder: holed, short or past."""
    return lambda rng, theta: [without_sides(each) for each in draw_ladder(rng, theta, number)]


TESTS: dict[str, Test] = {
    "20 leaves, 20 at a gate": leaves_and_gate,
    "30 putts, all noted": all_noted(30),
    "60 putts, all noted": all_noted(60),
    "120 putts, all noted": all_noted(120),
    "30 putts, holed or short": short_noted(30),
    "120 putts, holed or short": short_noted(120),
}


# --- Coverage and width -------------------------------------------------------------------------


def interval_estimates(fitted: Posterior) -> list[Estimate]:
    """The four estimates in the model's order."""
    return [fitted.line_deg, fitted.line_bias_deg, fitted.pace, fitted.pace_bias]


@dataclass(frozen=True)
class Coverage:
    """The share of putters whose true value lay inside the interval, for each parameter; None if not identifiable."""

    shares: tuple[float | None, ...]
    putters: int

    @property
    def error(self) -> float:
        """The standard error of a share of 95 %."""
        return float(np.sqrt(0.95 * 0.05 / self.putters))


def measure_coverage(test: Test, putters: int, seed: int) -> Coverage:
    """How often the intervals of a test hold the true values of putters drawn at random."""
    rng = np.random.default_rng(seed)
    inside, identifiable = np.zeros(4), np.zeros(4, dtype=bool)
    for _ in range(putters):
        theta = draw_putter(rng)
        fitted = compute_posterior(test(rng, theta))
        truth = [np.exp(theta[LINE]), theta[LINE_BIAS], np.exp(theta[PACE]), theta[PACE_BIAS]]
        inside += [
            each.low <= value <= each.high for each, value in zip(interval_estimates(fitted), truth, strict=True)
        ]
        identifiable |= fitted.identifiable
    shares = zip(inside, identifiable, strict=True)
    return Coverage(tuple(float(n / putters) if is_known else None for n, is_known in shares), putters)


@dataclass(frozen=True)
class WidthRatio:
    """The width of the pace interval with short putts noted over that without, on a log scale and on its own scale."""

    log: float
    plain: float


def pace_width_ratio(putters: int, number: int, seed: int) -> WidthRatio:
    """How much narrower the pace interval gets by noting short putts: the median of some unbiased putters."""
    rng = np.random.default_rng(seed)
    widths = [width_ratios(draw_ladder(rng, draw_putter(rng, biased=False), number)) for _ in range(putters)]
    log, plain = np.median(widths, axis=0)
    return WidthRatio(float(log), float(plain))


def width_ratios(observations: Sequence[Counted]) -> tuple[float, float]:
    """The two width ratios of the pace interval for one putter."""
    short = [without_sides(observation) for observation in observations]
    noted, holed_only = (
        compute_posterior(short).pace,
        compute_posterior([replace(observation, short=None) for observation in short]).pace,
    )
    log = np.log(noted.high / noted.low) / np.log(holed_only.high / holed_only.low)
    return float(log), (noted.high - noted.low) / (holed_only.high - holed_only.low)
