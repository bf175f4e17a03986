"""What is planned of a test: so many balls from each distance. It stands in the address of the page that records."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Protocol

from drills.putting.observations import FARTHEST_M

MOST_BALLS = 100
MOST_STATIONS = 12
STATION = re.compile(r"(\d{1,2}(?:\.\d{1,4})?)x(\d{1,3})")


class Hit(Protocol):
    """A ball as far as a plan cares."""

    number: int
    distance_m: float


@dataclass(frozen=True)
class Station:
    """So many balls from one distance in metres."""

    distance_m: float
    balls: int


@dataclass(frozen=True)
class Plan:
    """The stations of a test in order; one without an end goes on until somebody stops."""

    stations: tuple[Station, ...]
    has_end: bool = True

    @property
    def total(self) -> int:
        """All balls."""
        return sum(station.balls for station in self.stations)

    @property
    def word(self) -> str:
        """The plan as it stands in an address: "1x10,1.5x10"."""
        stations = ",".join(f"{round(station.distance_m, 4):g}x{station.balls}" for station in self.stations)
        return stations if self.has_end else ""

    def distance_at(self, number: int) -> float:
        """From where a ball is hit. Raises ValueError for one that is not planned."""
        if number < 1:
            raise ValueError("balls count from 1")
        for station in self.stations:
            if number <= station.balls:
                return station.distance_m
            number -= station.balls
        raise ValueError("no ball is planned after the last one")

    def fits(self, hit: Iterable[Hit]) -> bool:
        """Whether the balls so far were hit as planned."""
        return all(
            ball.number <= self.total and abs(ball.distance_m - self.distance_at(ball.number)) < 1e-3 for ball in hit
        )


def evenly(distances_m: Iterable[float], balls: int) -> Plan:
    """As many balls from every distance."""
    return Plan(tuple(Station(distance, balls) for distance in distances_m))


def planned(word: str) -> Plan | None:
    """The plan in an address, unless there is none or it cannot be."""
    found = [STATION.fullmatch(part) for part in word.split(",")]
    stations = [Station(float(part[1]), int(part[2])) for part in found if part]
    possible = all(0 < one.distance_m <= FARTHEST_M and 1 <= one.balls <= MOST_BALLS for one in stations)
    return Plan(tuple(stations)) if possible and 0 < len(stations) == len(found) <= MOST_STATIONS else None


def chosen(word: str, usual: Plan, hit: Iterable[Hit]) -> Plan:
    """The plan in the address, or the usual one, if the balls so far fit it; else one that goes on from the last."""
    balls = list(hit)
    plans = [plan for plan in (planned(word), usual) if plan and plan.fits(balls)]
    return plans[0] if plans else onward(balls)


def onward(balls: list[Hit]) -> Plan:
    """The balls as they were hit, and more from the last distance."""
    past = [Station(ball.distance_m, 1) for ball in balls]
    return Plan((*past, Station(balls[-1].distance_m, MOST_BALLS)), has_end=False)
