"""Published averages of other players, for comparison: distances in feet, as printed."""

from typing import NamedTuple

import numpy as np

from drills.putting.model import Array


class Published(NamedTuple):
    """The percentage of putts holed from exactly so many feet, whose it is, and the source."""

    whose: str
    percent_by_feet: dict[int, int]
    source: str


PROFESSIONALS = Published(
    "professionals",
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
CLUB_PLAYERS = Published(
    "players who need about 90 strokes",
    {3: 84, 4: 65, 5: 50, 6: 39, 8: 27, 10: 20, 15: 11, 20: 6, 30: 2},
    "Broadie (2014), as quoted in a public text on putting",
)


class Errors(NamedTuple):
    """The errors of a class of players: of the start line, the read included, in degrees; of pace, as a share."""

    whose: str
    line_deg: float
    pace: float


# Bansal & Broadie (2008), Proc. 2008 Winter Simulation Conference, 2826-2834, as quoted in a public text.
ERRORS = (Errors(PROFESSIONALS.whose, 1.0, 0.065), Errors(CLUB_PLAYERS.whose, 1.5, 0.085))


def published_share(published: Published, distance_m: Array) -> Array:
    """The published share holed from some distances, linear between the printed ones and constant beyond them."""
    feet = np.array(list(published.percent_by_feet))
    rates = np.array(list(published.percent_by_feet.values())) / 100
    rate: Array = np.interp(distance_m / 0.3048, feet, rates)
    return rate
