"""The plan of a test: a number of balls from each distance. The URL of the recording page carries it."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Protocol

from drills.putting.observations import FURTHEST_M

MOST_BALLS = 100
MOST_STATIONS = 12
STATION = re.compile(r"(\d{1,2}(?:\.\d{1,4})?)x(\d{1,3})")


class PlannedBall(Protocol):
    """The fields of a ball that a plan needs."""

    number: int
    distance_m: float


@dataclass(frozen=True)
class Station:
    """A number of balls from one distance in metres."""

    distance_m: float
    balls: int


@dataclass(frozen=True)
class Plan:
    """The stations of a test in order; one without an end goes on until somebody finishes the test."""

    stations: tuple[Station, ...]
    has_end: bool = True

    @property
    def total(self) -> int:
        """The number of balls."""
        return sum(station.balls for station in self.stations)

    @property
    def word(self) -> str:
        """The plan for a URL: "1x10,1.5x10"; empty for a plan without an end."""
        stations = ",".join(f"{round(station.distance_m, 4):g}x{station.balls}" for station in self.stations)
        return stations if self.has_end else ""

    def distance_at(self, number: int) -> float:
        """The distance of a ball in metres. Raises ValueError for a number that is not planned."""
        if number < 1:
            raise ValueError("balls count from 1")
        for station in self.stations:
            if number <= station.balls:
                return station.distance_m
            number -= station.balls
        raise ValueError("no ball is planned after the last one")

    def fits(self, balls: Iterable[PlannedBall]) -> bool:
        """Whether the balls so far come from the planned distances."""
        return all(
            ball.number <= self.total and abs(ball.distance_m - self.distance_at(ball.number)) < 1e-3 for ball in balls
        )


def even_plan(distances_m: Iterable[float], balls: int) -> Plan:
    """The same number of balls from every distance."""
    return Plan(tuple(Station(distance, balls) for distance in distances_m))


def parse_plan(word: str) -> Plan | None:
    """The plan in a URL; None if there is none or it is not possible."""
    found = [STATION.fullmatch(part) for part in word.split(",")]
    stations = [Station(float(part[1]), int(part[2])) for part in found if part]
    possible = all(0 < one.distance_m <= FURTHEST_M and 1 <= one.balls <= MOST_BALLS for one in stations)
    return Plan(tuple(stations)) if possible and 0 < len(stations) == len(found) <= MOST_STATIONS else None


def choose_plan(word: str, usual: Plan, balls: Iterable[PlannedBall]) -> Plan:
    """The plan in the URL, or the usual one, if the balls so far fit it; else one that goes on from the last ball."""
    noted = list(balls)
    plans = [plan for plan in (parse_plan(word), usual) if plan and plan.fits(noted)]
    return plans[0] if plans else open_ended_plan(noted)


def open_ended_plan(balls: list[PlannedBall]) -> Plan:
    """The balls so far, then more from the last distance, without an end."""
    past = [Station(ball.distance_m, 1) for ball in balls]
    return Plan((*past, Station(balls[-1].distance_m, MOST_BALLS)), has_end=False)
