"""What a putter's errors cost: putts holed from a distance, and how many it takes to hole out from far away.

A miss stops as the model says, on a flat green; the second putt is holed or missed from there, and nobody misses a
third. So the expected number is 2 - P1 + P3, for the chances of one putt and of three.
"""

from dataclasses import dataclass

import numpy as np

from drills.putting.model import LINE, LINE_BIAS, PACE, PACE_BIAS, Array, holed
from drills.putting.observations import OVERSHOT_M

FOOT_M = 0.3048
SHORT_M: Array = np.linspace(3, 10, 8) * FOOT_M  # putts that a player hopes to hole, and
LONG_M: Array = np.linspace(20, 40, 5) * FOOT_M  # those from which three are feared
GRID_M = np.geomspace(0.1, 30, 60)  # second putts are read off a curve through these
# Places of a standard normal and their weights, evenly spaced: nearer than Gauss and Hermite where a curve has a kink.
NODES: Array = np.linspace(-3.5, 3.5, 21)
WEIGHTS: Array = np.exp(-(NODES**2) / 2) / np.exp(-(NODES**2) / 2).sum()
FIFTH = np.log(0.8)  # a fifth less error, on a log scale


def left_after(theta: Array, distance_m: Array) -> Array:
    """How far from the hole a first putt stops that it does not take: (sets, distances, line nodes, pace nodes)."""
    line = np.radians(theta[:, LINE_BIAS, None] + np.exp(theta[:, LINE, None]) * NODES)
    pace = 1 + theta[:, PACE_BIAS, None] + np.exp(theta[:, PACE, None]) * NODES
    rolled = (distance_m[:, None] + OVERSHOT_M) * pace[:, None, :]
    across = rolled[:, :, None, :] * np.sin(line)[:, None, :, None]
    along = rolled[:, :, None, :] * np.cos(line)[:, None, :, None] - distance_m[:, None, None]
    left: Array = np.hypot(along, across)
    return left


def three_putts(theta: Array, distance_m: Array) -> Array:
    """The chance to need three putts from some distances: (sets, distances).

    A first putt that the hole takes would have stopped near it, where a second one is not missed: it needs no care.
    """
    curves = holed(theta, GRID_M)
    left = left_after(theta, distance_m)
    second = np.stack([np.interp(each, GRID_M, curve) for each, curve in zip(left, curves, strict=True)])
    chance: Array = np.einsum("sdij,i,j->sd", 1 - second, WEIGHTS, WEIGHTS)
    return chance


def expected_putts(theta: Array, distance_m: Array) -> Array:
    """How many putts it takes on average: (sets, distances). Broadie's identity, if nobody takes four."""
    putts: Array = 2 - holed(theta, distance_m) + three_putts(theta, distance_m)
    return putts


@dataclass(frozen=True)
class Gain:
    """What a fifth less of one error would bring, for each draw of a putter.

    More putts holed of ten from 3 to 10 ft, and three-putts saved in ten from 20 to 40 ft.
    """

    holed: Array
    saved: Array


def gain(draws: Array, which: int) -> Gain:
    """What a fifth less of the start line's or the pace's error would bring a student, for each draw."""
    better = draws.copy()
    better[:, which] += FIFTH
    more = (holed(better, SHORT_M) - holed(draws, SHORT_M)).mean(axis=1)
    fewer = (three_putts(draws, LONG_M) - three_putts(better, LONG_M)).mean(axis=1)
    return Gain(10 * more, 10 * fewer)
