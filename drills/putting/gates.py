"""The start line by balls through gates alone: two parameters on one grid, quick enough to try every other result."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np
from scipy.special import ndtr

from drills.putting.hole import gate_error_deg, gate_width_m
from drills.putting.normal import LINE, LINE_BIAS, TINY, Array
from drills.putting.observations import Gated
from drills.putting.posterior import Estimate, exponentiate, summarise_marginal
from drills.putting.prior import PRIOR_MEAN, PRIOR_SD

REACH_SD = 3.5  # of the prior
NUMBERS = {LINE: 61, LINE_BIAS: 121}


@cache
def places(parameter: int) -> Array:
    """The values of a parameter on the grid."""
    reach = REACH_SD * PRIOR_SD[parameter]
    return np.linspace(PRIOR_MEAN[parameter] - reach, PRIOR_MEAN[parameter] + reach, NUMBERS[parameter])


@cache
def log_prior() -> Array:
    """The log of the prior at each spread with each bias."""
    line, bias = (-0.5 * ((places(at) - PRIOR_MEAN[at]) / PRIOR_SD[at]) ** 2 for at in (LINE, LINE_BIAS))
    logs: Array = line[:, None] + bias
    return logs


def chances(error_deg: float) -> tuple[Array, Array, Array]:
    """The probability to go through a gate that lets so much error through, and beside it on the push or pull side."""
    spread, bias = np.exp(places(LINE))[:, None], places(LINE_BIAS)
    push, pull = ndtr((bias - error_deg) / spread), ndtr((-error_deg - bias) / spread)
    return np.maximum(1 - push - pull, TINY), np.maximum(push, TINY), np.maximum(pull, TINY)


@lru_cache(maxsize=8)
def log_chances(error_deg: float) -> tuple[Array, Array, Array, Array]:
    """Their logs, and that of the probability to go beside it on either side."""
    through, push, pull = chances(error_deg)
    return np.log(through), np.log(push), np.log(pull), np.log(push + pull)


@dataclass(frozen=True)
class GatePosterior:
    """The weight of each spread with each bias: (spreads, biases); weights add up to 1."""

    weights: Array

    @property
    def line_deg(self) -> Estimate:
        """The spread of the start line."""
        return exponentiate(summarise_marginal(places(LINE), self.weights.sum(axis=1)))

    @property
    def line_bias_deg(self) -> Estimate:
        """Its bias, push positive."""
        return summarise_marginal(places(LINE_BIAS), self.weights.sum(axis=0))

    def share_through(self, error_deg: float) -> float:
        """The share of the next balls that pass a gate which lets so much error through."""
        return float((self.weights * chances(error_deg)[0]).sum())

    def gate_m(self, distance_m: float, share: float) -> float:
        """The width of the gate at a distance that so large a share of the next balls pass."""
        errors: Array = np.geomspace(0.05, 20.0, 60)
        shares = [self.share_through(float(error)) for error in errors]
        return gate_width_m(distance_m, float(np.interp(share, shares, errors)))


def gate_posterior(gates: Sequence[Gated]) -> GatePosterior:
    """The posterior by balls through some gates, with the prior of every putter."""
    logs = log_prior().copy()
    for gate in gates:
        through, push, pull, beside = log_chances(gate_error_deg(gate.distance_m, gate.width_m))
        logs += gate.passed * through + gate.push * push + gate.pull * pull + gate.beside * beside
    weights = np.exp(logs - logs.max())
    return GatePosterior(weights / weights.sum())
