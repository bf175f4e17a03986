"""Simulated players as they are, and their balls: biased, misreading, aiming elsewhere, with wild balls."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drills.putting.hole import gate_error_deg, largest_error_deg
from drills.putting.normal import Array
from drills.putting.observations import OVERSHOT_M, TOLERANCE_M, Counted, Gated, Leaves, Observation

Draw = Callable[[np.random.Generator, int], Array]


def normal(rng: np.random.Generator, number: int) -> Array:
    """Balls without a wild one."""
    return rng.normal(size=number)


def t3(rng: np.random.Generator, number: int) -> Array:
    """Student's t with 3 degrees of freedom."""
    return rng.standard_t(3, number)


def one_wild_in_ten(rng: np.random.Generator, number: int) -> Array:
    """One ball in ten three times as wild."""
    balls: Array = rng.normal(size=number) * np.where(rng.random(number) < 0.1, 3, 1)
    return balls


@dataclass(frozen=True)
class Player:
    """Start line in degrees and pace as a share, with their biases; misreads of putts at a hole; any tails of pace."""

    rng: np.random.Generator
    line: float
    pace: float
    push: float = 0.0
    long: float = 0.0
    read: float = 0.0
    shift: float = 0.0  # how far from the hole's line the player aims, to the push side
    draw: Draw = normal

    def stops(self, distance_m: float, number: int, past_m: float) -> Array:
        """Where balls stop, in metres past the hole or line, if that far past is meant."""
        rolled = (distance_m + past_m) * (1 + self.long + self.pace * self.draw(self.rng, number))
        stops: Array = np.maximum(rolled, 0) - distance_m
        return stops

    def putts(self, distance_m: float, number: int) -> tuple[Array, Array, NDArray[np.bool_]]:
        """Lines in degrees, stops in metres past the hole, and which dropped."""
        lines = self.push + self.shift + np.hypot(self.line, self.read) * self.rng.normal(size=number)
        stops = self.stops(distance_m, number, OVERSHOT_M)
        return lines, stops, (np.abs(lines) < largest_error_deg(distance_m)) & (stops > 0) & (stops < TOLERANCE_M)

    def counted(self, distances_m: Sequence[float] = (1.0, 1.5, 2.0, 3.0), number: int = 10) -> list[Observation]:
        """Putts with everything noted."""
        found: list[Observation] = []
        for distance in distances_m:
            lines, stops, dropped = self.putts(distance, number)
            missed = ~dropped
            sides = int((missed & (lines > 0)).sum()), int((missed & (lines <= 0)).sum())
            found.append(Counted(distance, number, int(dropped.sum()), int((missed & (stops < 0)).sum()), *sides))
        return found

    def leaves(self, distance_m: float = 6.0, number: int = 20, step_m: float = 0.5) -> list[Observation]:
        """Measured leaves at a hole."""
        _, stops, dropped = self.putts(distance_m, number)
        measured = np.maximum(np.round(stops[~dropped] / step_m) * step_m, -distance_m)
        return [Leaves(distance_m, tuple(measured.tolist()), step_m, int(dropped.sum()))]

    def ladder(self, past_m: float = 0.0, number: int = 5, step_m: float = 0.5) -> list[Observation]:
        """Putts to lines, or to the middle of zones beyond them."""
        stops = {distance: self.stops(distance, number, past_m) for distance in (3.0, 6.0, 9.0, 12.0)}
        return [
            Leaves(distance, tuple((np.round(each / step_m) * step_m).tolist()), step_m, hole=False, past_m=past_m)
            for distance, each in stops.items()
        ]

    def zones(self) -> list[Observation]:
        """A ladder of zones a metre deep."""
        return self.ladder(past_m=0.5)

    def gate(self, number: int = 20, distance_m: float = 1.0, width_m: float = 0.08) -> list[Observation]:
        """Balls through a gate, which needs no read."""
        lines, error = self.push + self.line * self.rng.normal(size=number), gate_error_deg(distance_m, width_m)
        push, pull = int((lines > error).sum()), int((lines < -error).sum())
        return [Gated(distance_m, width_m, number - push - pull, push, pull)]

    def all_three(self) -> list[Observation]:
        """Leaves, a gate and counted putts: eighty balls."""
        return [*self.leaves(), *self.gate(), *self.counted()]

    def all_twice(self) -> list[Observation]:
        """A hundred and forty putts, and the gate."""
        return [*self.all_three(), *self.leaves(), *self.counted()]

    def pace_alone(self) -> list[Observation]:
        """Leaves and a ladder."""
        return [*self.leaves(), *self.ladder()]
