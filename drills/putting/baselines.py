"""Published putting, to stand beside a student's: distances in feet, as printed."""

from typing import NamedTuple

import numpy as np

from drills.putting.model import Array


class Published(NamedTuple):
    """Make percentages from exactly so many feet, whose they are, and where they stand."""

    whose: str
    percent_by_feet: dict[int, int]
    source: str


TOUR = Published(
    "tour professionals",
    {
        1: 100,
        2: 99,
        3: 96,
        4: 88,
        5: 77,
        6: 66,
        7: 58,
        8: 50,
        9: 45,
        10: 40,
        15: 23,
        20: 15,
        30: 7,
        40: 4,
        50: 3,
        60: 2,
    },
    "Broadie, as quoted by golfingfocus.com and in View On magazine, March 2023",
)
GOLFER_90 = Published(
    "golfers who score about 90",
    {3: 84, 4: 65, 5: 50, 6: 39, 8: 27, 10: 20, 15: 11, 20: 6, 30: 2},
    "Broadie (2014), as quoted in a public text on putting",
)


class Errors(NamedTuple):
    """The errors of a class of players: of the start line with the read in it, in degrees, and of pace, as a share."""

    whose: str
    line_deg: float
    pace: float


# Bansal & Broadie (2008), Proc. 2008 Winter Simulation Conference, 2826-2834, as quoted in a public text.
ERRORS = (Errors("tour professionals", 1.0, 0.065), Errors("golfers who score about 90", 1.5, 0.085))


def make_rate(published: Published, distance_m: Array) -> Array:
    """The published rate at some distances, from point to point; the ends go on as they are."""
    feet = np.array(list(published.percent_by_feet))
    rates = np.array(list(published.percent_by_feet.values())) / 100
    rate: Array = np.interp(distance_m / 0.3048, feet, rates)
    return rate
