"""The fit of a putter against scipy's: the same likelihood written down plainly, its slopes by differences."""

from collections.abc import Callable, Sequence
from functools import cache
from typing import Any

import numpy as np
from scipy.optimize import minimize
from scipy.special import ndtr

from coachbook.demo.baselines.loop import Pair
from drills.putting.calibration import draw_gate_balls, draw_ladder, draw_leaves, draw_putter, interval_estimates
from drills.putting.fit import STARTS, fit
from drills.putting.hole import BALL_RADIUS_M, HOLE_RADIUS_M, gate_error_deg
from drills.putting.model import Array, Likelihood
from drills.putting.observations import OVERSHOT_M, TOLERANCE_M, Counted, Gated, Leaves, Observation
from drills.putting.posterior import compute_posterior


def stop(at_m: Any, distance_m: Any, pace: float, long: float) -> Any:
    """The chance to stop before a place seen from the hole."""
    aim = distance_m + OVERSHOT_M
    return ndtr((at_m + distance_m - aim * (1 + long)) / (aim * pace))


def xlog(numbers: Any, chances: Any) -> Any:
    """So many logs of a chance."""
    return numbers * np.log(np.maximum(chances, 1e-300))


def room(distance_m: Any) -> Any:
    """How far off a start line may be."""
    return np.degrees(np.arcsin((HOLE_RADIUS_M - BALL_RADIUS_M) / distance_m))


class ByHand:
    """The log-likelihood of putts with all noted, of one set of leaves and of one gate, for one putter at a time."""

    def __init__(self, counted: Sequence[Counted], leaves: Leaves, gate: Gated) -> None:
        self.observations: list[Observation] = [*counted, leaves, gate]
        rows = [[row.distance_m, row.tried, row.holed, row.short, row.push, row.pull] for row in counted]
        self.columns = np.array(rows, dtype=float).T
        self.room, self.leaves, self.gate = room(self.columns[0]), leaves, gate
        places, self.number = np.unique(leaves.leaves_m, return_counts=True)
        ends = places - leaves.step_m / 2, places + leaves.step_m / 2
        near = [np.clip(end, 0, TOLERANCE_M) for end in ends]
        self.ends = np.concatenate([*ends, *near, [0.0, TOLERANCE_M]])
        self.error = gate_error_deg(gate.distance_m, gate.width_m)

    def log_likelihood(self, theta: Array) -> float:
        """Up to the same constant as ours."""
        line, bias, pace, long = np.exp(theta[0]), theta[1], np.exp(theta[2]), theta[3]
        putts = self.of_counted(line, bias, pace, long) + self.of_leaves(line, bias, pace, long)
        return putts + self.of_gate(line, bias)

    def of_counted(self, line: float, bias: float, pace: float, long: float) -> float:
        """Putts holed, short and past, and the sides of the misses."""
        distance, tried, drops, short, push, pull = self.columns
        right, left = ndtr(-(self.room - bias) / line), ndtr((-self.room - bias) / line)
        before, beyond = stop(0.0, distance, pace, long), 1 - stop(TOLERANCE_M, distance, pace, long)
        reach = 1 - before - beyond
        past = beyond + reach * (right + left)
        counts = xlog(drops, reach * (1 - right - left)) + xlog(short, before) + xlog(tried - drops - short, past)
        share, pushed = short / np.maximum(tried - drops, 1), ndtr(bias / line)
        to_push = share * pushed + (1 - share) * (beyond * pushed + reach * right) / np.maximum(past, 1e-300)
        return float((counts + xlog(push, to_push) + xlog(pull, 1 - to_push)).sum())

    def of_leaves(self, line: float, bias: float, pace: float, long: float) -> float:
        """The leaves, each with its half step to either side, and those that dropped."""
        wide = room(self.leaves.distance_m)
        drops = ndtr((wide - bias) / line) - ndtr((-wide - bias) / line)
        below = stop(self.ends, self.leaves.distance_m, pace, long)
        low, high, near_low, near_high = below[:-2].reshape(4, -1)
        left = high - low - drops * (near_high - near_low)
        return float(xlog(self.number, left).sum() + xlog(self.leaves.holed, drops * (below[-1] - below[-2])))

    def of_gate(self, line: float, bias: float) -> float:
        """The balls through the gate and beside it."""
        push, pull = ndtr((bias - self.error) / line), ndtr((-self.error - bias) / line)
        return float(xlog(self.gate.passed, 1 - push - pull) + xlog(self.gate.push, push) + xlog(self.gate.pull, pull))


def searched(log_likelihood: Callable[[Array], float]) -> float:
    """The best that scipy finds from the same three starts, with slopes by differences."""
    found = (minimize(lambda theta: -log_likelihood(theta), start, method="BFGS") for start in STARTS)
    return max(-float(each.fun) for each in found)


def same_function(student: ByHand) -> float:
    """What scipy finds in our own log-likelihood."""
    likelihood = Likelihood(student.observations)
    return searched(lambda theta: float(likelihood.log_likelihood(theta[None])[0, 0]))


@cache
def students() -> list[ByHand]:
    """Students who took every test; always the same ones."""
    rng = np.random.default_rng(7)
    return [student(rng, draw_putter(rng)) for _ in range(10)]


def student(rng: np.random.Generator, theta: Array) -> ByHand:
    """Ten putts from each distance of the ladder, twenty leaves and twenty balls at a gate."""
    return ByHand(
        draw_ladder(rng, theta, 60), draw_leaves(rng, theta, 6.0, 20, 0.9), draw_gate_balls(rng, theta, 1.0, 20, 0.1)
    )


def fit_pair() -> Pair:
    """Fitting putters, against scipy's search of the same function."""
    return fits_against("fits, same function", same_function)


def plain_fit_pair() -> Pair:
    """Fitting putters, against scipy's search of a plain likelihood without slopes."""
    return fits_against("fits, plain likelihood", lambda student: searched(student.log_likelihood))


def fits_against(name: str, baseline: Callable[[ByHand], float]) -> Pair:
    """The fits of all students against another way to the same tops."""
    return Pair(
        name,
        f"{len(students())} students",
        ours=lambda: [fit(each.observations).log_likelihood for each in students()],
        baseline=lambda: [baseline(each) for each in students()],
        same=lambda one, other: bool(np.allclose(one, other, rtol=0, atol=1e-6)),
    )


def posterior_pair() -> Pair:
    """Putters with all their intervals: the baseline is scipy's search for the likeliest alone."""
    return Pair(
        "putters with intervals",
        f"{len(students())} students",
        ours=lambda: [interval_estimates(compute_posterior(each.observations)) for each in students()],
        baseline=lambda: [searched(each.log_likelihood) for each in students()],
        same=lambda one, other: all(each.low < each.middle < each.high for four in one for each in four),
    )
