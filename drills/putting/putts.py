"""The expected number of putts and of three-putts under the model of a putter, and what a smaller error brings.

A miss stops as the model says, on a flat green; the second putt is holed or missed from there, and no third putt is
missed. So the expected number is 2 - P1 + P3, with the probabilities of one putt and of three (Broadie's identity).
"""

import numpy as np

from drills.putting.model import LINE, LINE_BIAS, PACE, PACE_BIAS, Array, holed
from drills.putting.observations import OVERSHOT_M

FOOT_M = 0.3048
SHORT_M: Array = np.linspace(3, 10, 8) * FOOT_M  # a player hopes to hole these; common practice, no source
LONG_M: Array = np.linspace(20, 40, 5) * FOOT_M  # three putts are likely from here; common practice, no source
GRID_M = np.geomspace(0.1, 30, 60)  # the curve of second putts is interpolated between these
REACH = 3.5  # standard deviations


def nodes(number: int) -> tuple[Array, Array]:
    """Evenly spaced nodes of a standard normal and their weights: better than Gauss-Hermite at a kink of a curve."""
    places: Array = np.linspace(-REACH, REACH, number)
    weights: Array = np.exp(-(places**2) / 2)
    return places, weights / weights.sum()


# Where a putt stops depends on its pace far more than on its line, which needs fewer nodes.
LINE_NODES, LINE_WEIGHTS = nodes(7)
PACE_NODES, PACE_WEIGHTS = nodes(17)
FIFTH_LESS = np.log(0.8)  # a fifth less error, on a log scale


def second_putt_distance_m(theta: Array, distance_m: Array) -> Array:
    """The length of the second putt, in metres: (sets, distances, line nodes, pace nodes)."""
    line = np.radians(theta[:, LINE_BIAS, None] + np.exp(theta[:, LINE, None]) * LINE_NODES)
    pace = 1 + theta[:, PACE_BIAS, None] + np.exp(theta[:, PACE, None]) * PACE_NODES
    rolled = ((distance_m[:, None] + OVERSHOT_M) * pace[:, None, :])[:, :, None, :]
    to_hole = distance_m[:, None, None]
    # The third side of a triangle, by the law of cosines.
    leave_m: Array = np.sqrt((rolled - to_hole) ** 2 + 4 * to_hole * rolled * (np.sin(line / 2) ** 2)[:, None, :, None])
    return leave_m


def three_putts(theta: Array, distance_m: Array) -> Array:
    """The probability of three putts from some distances: (sets, distances).

    A first putt that drops is counted as one that stopped near the hole, from where a second is not missed.
    """
    curves = holed(theta, GRID_M)
    leave_m = second_putt_distance_m(theta, distance_m)
    second = np.stack([np.interp(each, GRID_M, curve) for each, curve in zip(leave_m, curves, strict=True)])
    chance: Array = np.einsum("sdij,i,j->sd", 1 - second, LINE_WEIGHTS, PACE_WEIGHTS)
    return chance


def expected_putts(theta: Array, distance_m: Array) -> Array:
    """The expected number of putts, if nobody needs four: (sets, distances)."""
    putts: Array = 2 - holed(theta, distance_m) + three_putts(theta, distance_m)
    return putts


def gains_near(draws: Array) -> list[Array]:
    """How many more putts of ten from 3 to 10 ft less of each error would hole, in the order of the parameters.

    A spread is made a fifth smaller, a bias taken away; (draws,) each.
    """
    return [10 * (average_makes(better) - average_makes(draws)) for better in improved(draws)]


def gains_far(draws: Array) -> list[Array]:
    """How many three-putts in ten from 20 to 40 ft less of each error would save, likewise."""
    now = average_threes(draws)
    return [10 * (now - average_threes(better)) for better in improved(draws)]


def improved(draws: Array) -> list[Array]:
    """The same putters with a fifth less spread, or without a bias, for each parameter."""
    return [
        np.where(np.arange(4) == which, draws + FIFTH_LESS if which in (LINE, PACE) else 0.0, draws)
        for which in (LINE, LINE_BIAS, PACE, PACE_BIAS)
    ]


def average_makes(theta: Array) -> Array:
    """The share of putts holed from 3 to 10 ft: (sets,)."""
    makes: Array = holed(theta, SHORT_M).mean(axis=1)
    return makes


def average_threes(theta: Array) -> Array:
    """The share of three-putts from 20 to 40 ft: (sets,)."""
    threes: Array = three_putts(theta, LONG_M).mean(axis=1)
    return threes
