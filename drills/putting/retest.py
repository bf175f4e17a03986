"""What the same test again would have to show to be called better, by the very verdict that compares two tests."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import ceil, exp, hypot, log
from statistics import NormalDist

from scipy.special import betaincinv

from drills.putting.gates import gate_posterior
from drills.putting.observations import Gated
from drills.putting.posterior import Estimate
from drills.putting.predictions import share_change, spread_change
from drills.putting.sample_size import POWER
from lessons.progress.intervals import Share


@dataclass(frozen=True)
class CountRetest:
    """From how many balls on it is called better, and how many a player holes on average who gets there in `POWER`.

    `typical` is None where that takes a player who hardly ever misses.
    """

    needs: int
    typical: int | None


@dataclass(frozen=True)
class RatioRetest:
    """The same for a spread: its ratio to the one now, and the true ratio of a player who gets there in `POWER`."""

    needs: float
    typical: float


def share_retest(now: Share) -> CountRetest | None:
    """The retest of a share; None if no number of so many balls is called better. Raises as `wilson` does."""
    return count_retest(now, lambda number: share_change(Share(number, now.of), now).verdict == "better")


def gate_retest(now: Gated) -> CountRetest | None:
    """The retest of balls through a gate, by the start-line error that they show; the misses go where they go now."""
    before = gate_posterior([now]).line_deg

    def is_better(number: int) -> bool:
        return spread_change(gate_posterior([with_passed(now, number)]).line_deg, before).verdict == "better"

    return count_retest(Share(now.passed, now.balls), is_better)


def count_retest(now: Share, is_better: Callable[[int], bool]) -> CountRetest | None:
    """The smallest number that is called better, found by halving, and the player who reaches it so often."""
    low, high = now.seen, now.of
    if low == high or not is_better(high):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if is_better(middle) else (middle, high)
    # The share at which a binomial reaches that number in so many cases: a quantile of the beta distribution.
    typical = ceil(now.of * float(betaincinv(high, now.of - high + 1, POWER)))
    return CountRetest(high, typical if typical < now.of else None)


def with_passed(gate: Gated, passed: int) -> Gated:
    """The same gate with so many balls through it, and the misses shared out as they are."""
    missed, left = gate.balls - gate.passed, gate.balls - passed
    push, pull = (round(left * side / missed) for side in (gate.push, gate.pull))
    pull = min(pull, left - push)
    return replace(gate, passed=passed, push=push, pull=pull, beside=left - push - pull)


def ratio_retest(now: Estimate) -> RatioRetest:
    """The retest of a spread or a length, if its next interval is as wide. Raises ValueError for one of 0 or less."""
    above, below = log(now.high / now.middle), log(now.middle / now.low)
    less = hypot(above, below)
    error = (above + below) / (2 * NormalDist().inv_cdf(0.975))
    return RatioRetest(exp(-less), exp(-less - NormalDist().inv_cdf(POWER) * error))
