"""A distance or a gate at which a student succeeds about so often: neither too easy nor too hard.

Guadagnoli & Lee (2004), J. Mot. Behav. 36, 212-224: how much is learned depends on how hard a task is for this learner.
The share itself is a coach's setting; common practice, no source.
"""

from collections.abc import Sequence
from statistics import NormalDist

import numpy as np
from scipy.special import ndtr

from drills.putting.hole import gate_error_deg, gate_width_m
from drills.putting.model import Array, holed
from drills.putting.observations import Gated

USUAL = 0.7
SPREADS_DEG: Array = np.geomspace(0.1, 15.0, 800)  # of a start line, the ones that are searched
SHORTEST_PUTT_M, LONGEST_PUTT_M = 0.3, 15.0


def holing_distance_m(draws: Array, share: float = USUAL) -> float | None:
    """The distance from which putters like these hole this share; None if it lies outside the range that is searched.

    Raises ValueError for a share that is not between 0 and 1.
    """
    check_share(share)
    distances = np.geomspace(SHORTEST_PUTT_M, LONGEST_PUTT_M, 120)
    rates = holed(draws, distances).mean(axis=0)
    if not rates[-1] <= share <= rates[0]:
        return None
    falling = np.minimum.accumulate(rates)
    return float(np.interp(-share, -falling, distances))


def gate_for_share(gates: Sequence[Gated], distance_m: float, share: float = USUAL) -> float:
    """The width of a gate at a distance that is passed as often, by the balls that were counted at some gates.

    The start line has no bias; its spread is the median under Jeffreys' prior of those gates, which at one gate is the
    median of the beta distribution of its share. Raises ValueError for a share that is not between 0 and 1, or no gate.
    Brown, Cai & DasGupta (2001), Stat. Sci. 16, 101-133.
    """
    check_share(share)
    if not gates:
        raise ValueError("a gate is set by balls through gates, and there are none")
    spread = jeffreys_median(
        np.array([gate_error_deg(gate.distance_m, gate.width_m) for gate in gates]),
        np.array([gate.passed for gate in gates]),
        np.array([gate.push + gate.pull + gate.beside for gate in gates]),
    )
    return gate_width_m(distance_m, spread * NormalDist().inv_cdf((1 + share) / 2))


def jeffreys_median(errors_deg: Array, passed: Array, missed: Array) -> float:
    """The median spread of a start line, in degrees, by how many balls passed gates that let so much error through."""
    z = errors_deg[:, None] / SPREADS_DEG
    beside = 2 * ndtr(-z)
    through = 1 - beside
    slope = z * np.exp(-z * z / 2)  # of the share by the log of the spread, up to a constant
    information = ((passed + missed)[:, None] * slope**2 / np.maximum(through * beside, 1e-300)).sum(axis=0)
    logs = passed @ np.log(through) + missed @ np.log(np.maximum(beside, 1e-300))
    density = np.sqrt(information) * np.exp(logs - logs.max())
    below = np.cumsum(density) - density / 2
    return float(np.interp(density.sum() / 2, below, SPREADS_DEG))


def check_share(share: float) -> None:
    """Raise ValueError unless a share is between 0 and 1."""
    if not 0 < share < 1:
        raise ValueError(f"a share lies between 0 and 1, not {share}")
