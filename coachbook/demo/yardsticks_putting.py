"""The fit of a putter against scipy's: the same likelihood written down plainly, its slopes by differences."""

from typing import Any

import numpy as np
from scipy.optimize import minimize
from scipy.special import ndtr

from coachbook.demo.yardsticks import Pair
from drills.putting.fit import STARTS, fit
from drills.putting.hole import BALL_RADIUS_M, HOLE_RADIUS_M, gate_error_deg
from drills.putting.model import Array
from drills.putting.posterior import posterior
from drills.putting.record import OVERSHOT_M, TOLERANCE_M, Counted, Gated, Leaves, Record

COUNTED = [
    Counted(1.0, 12, 11, short=0, push=1, pull=0),
    Counted(1.5, 12, 9, short=0, push=2, pull=1),
    Counted(2.0, 12, 7, short=1, push=3, pull=2),
    Counted(3.0, 12, 4, short=2, push=5, pull=3),
    Counted(5.0, 12, 2, short=3, push=6, pull=4),
    Counted(8.0, 12, 1, short=4, push=6, pull=5),
]
LEAVES = Leaves(6.0, (-1.8, -0.9, -0.9, -0.9, *[0.0] * 5, *[0.9] * 6, *[1.8] * 3), 0.9, holed=2)
GATE = Gated(1.0, 0.1, passed=14, push=4, pull=2)


def by_hand(theta: Array) -> float:
    """The log-likelihood of these records, up to the same constant, for one putter."""
    line, bias, pace, long = np.exp(theta[0]), theta[1], np.exp(theta[2]), theta[3]
    distance, tried, drops, short, push, pull = COLUMNS
    room = np.degrees(np.arcsin((HOLE_RADIUS_M - BALL_RADIUS_M) / distance))
    right, left = ndtr(-(room - bias) / line), ndtr((-room - bias) / line)
    before, beyond = stop(0.0, distance, pace, long), 1 - stop(TOLERANCE_M, distance, pace, long)
    reach = 1 - before - beyond
    past = beyond + reach * (right + left)
    counts = xlog(drops, reach * (1 - right - left)) + xlog(short, before) + xlog(tried - drops - short, past)
    share, pushed = short / (tried - drops), ndtr(bias / line)
    to_push = share * pushed + (1 - share) * (beyond * pushed + reach * right) / past
    sides = xlog(push, to_push) + xlog(pull, 1 - to_push)
    return float((counts + sides).sum() + leaves_by_hand(line, bias, pace, long) + gate_by_hand(line, bias))


def stop(at_m: Any, distance_m: Any, pace: float, long: float) -> Any:
    """The chance to stop before a place seen from the hole."""
    aim = distance_m + OVERSHOT_M
    return ndtr((at_m + distance_m - aim * (1 + long)) / (aim * pace))


def xlog(numbers: Any, chances: Any) -> Any:
    """So many logs of a chance."""
    return numbers * np.log(np.maximum(chances, 1e-300))


def leaves_by_hand(line: float, bias: float, pace: float, long: float) -> float:
    """The leaves, each with its half step to either side, and those that dropped."""
    room = np.degrees(np.arcsin((HOLE_RADIUS_M - BALL_RADIUS_M) / LEAVES.distance_m))
    drops = ndtr((room - bias) / line) - ndtr((-room - bias) / line)
    low, high, number = STEPS
    nearer, farther = np.clip(low, 0, TOLERANCE_M), np.clip(high, 0, TOLERANCE_M)
    ends = np.concatenate([low, high, nearer, farther, [0.0, TOLERANCE_M]])
    below = stop(ends, LEAVES.distance_m, pace, long)
    from_low, to_high, from_nearer, to_farther = below[:-2].reshape(4, -1)
    left = to_high - from_low - drops * (to_farther - from_nearer)
    return float(xlog(number, left).sum() + xlog(LEAVES.holed, drops * (below[-1] - below[-2])))


def gate_by_hand(line: float, bias: float) -> float:
    """The balls through the gate and beside it."""
    error = gate_error_deg(GATE.distance_m, GATE.width_m)
    push, pull = ndtr((bias - error) / line), ndtr((-error - bias) / line)
    return float(xlog(GATE.passed, 1 - push - pull) + xlog(GATE.push, push) + xlog(GATE.pull, pull))


COLUMNS = np.array([[r.distance_m, r.tried, r.holed, r.short, r.push, r.pull] for r in COUNTED], dtype=float).T
PLACES, NUMBERS = np.unique(LEAVES.leaves_m, return_counts=True)
STEPS = PLACES - LEAVES.step_m / 2, PLACES + LEAVES.step_m / 2, NUMBERS
RECORDS: list[Record] = [*COUNTED, LEAVES, GATE]


def fit_by_scipy() -> float:
    """The best log-likelihood that scipy finds from the same three starts."""
    return max(-float(minimize(lambda theta: -by_hand(theta), start, method="BFGS").fun) for start in STARTS)


def fit_pair() -> Pair:
    """Fitting a putter."""
    return Pair(
        "fit of a putter",
        f"{len(RECORDS)} records",
        ours=lambda: fit(RECORDS).log_likelihood,
        yardstick=fit_by_scipy,
        same=lambda one, other: abs(one - other) < 1e-6,
    )


def posterior_pair() -> Pair:
    """A putter with all intervals, beside the same fit by scipy."""

    def ours() -> float:
        found = posterior(RECORDS)
        told = (found.line_deg, found.line_bias_deg, found.pace, found.pace_bias)
        if not all(each.low < each.middle < each.high for each in told):
            raise AssertionError("An interval is upside down.")
        return found.fit.log_likelihood

    return Pair("putter with intervals", f"{len(RECORDS)} records", ours, fit_by_scipy, lambda a, b: abs(a - b) < 1e-6)
