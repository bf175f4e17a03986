"""Whether a fit may be believed: does the model describe these balls, and do they tell start line and pace apart?"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import inf

import numpy as np
from scipy.special import xlogy

from drills.putting.hole import gate_error_deg, largest_error_deg
from drills.putting.model import Sided, holed, starts, stops
from drills.putting.normal import FAR, LEAST, LINE, PACE, PACE_BIAS, Array, Normal
from drills.putting.observations import OVERSHOT_M, TOLERANCE_M, Counted, Gated, Leaves, Record, Rows, pooled, side_rows
from drills.putting.posterior import Estimate, Posterior

TIMES = 300
SEED = 20
WIDE = 3.0  # an interval whose high end is so many times its low end; common practice, no source
TIED = 0.85  # the correlation of two parameters from which one may stand for the other; common practice, no source
FIFTHS = (-0.8416, -0.2533, 0.2533, 0.8416)  # where a standard normal falls into five equal parts
NONE = 1.0  # a deviance that is none: of a fit that leaves nothing over
STEP = 1e-4


# --- Start line and pace, apart -----------------------------------------------------------------


def tells_apart(found: Posterior) -> bool:
    """Whether these records tell start line and pace apart.

    They do not where both intervals are wide, their high ends over three times their low ends, or where the two errors
    are strongly tied: the same putts by a better line and a poorer pace. Where only one is told of, it stands alone.
    """
    if not (found.free[LINE] and found.free[PACE]):
        return True
    both_wide = is_wide(found.line_deg) and is_wide(found.pace)
    return not both_wide and abs(correlation(found)) < TIED


def is_wide(estimate: Estimate) -> bool:
    """Whether an interval spans more than a factor."""
    return estimate.high > WIDE * estimate.low


def correlation(found: Posterior) -> float:
    """How the logs of the two errors go together."""
    weights = found.grid.weights.sum(axis=(1, 3))
    line, pace = (found.grid.places[at] - found.grid.marginal(at)[1] @ found.grid.places[at] for at in (LINE, PACE))
    together = line @ weights @ pace
    return float(together / np.sqrt((line**2 @ weights.sum(axis=1)) * (pace**2 @ weights.sum(axis=0))))


# --- Does the model describe them ---------------------------------------------------------------


@dataclass(frozen=True)
class Cells:
    """Balls by what became of them, and the chance of each cell under some putters: (sets, cells)."""

    counts: Array
    chances: Array

    def __post_init__(self) -> None:
        np.maximum(self.chances, LEAST, out=self.chances)

    def redrawn(self, rng: np.random.Generator) -> Array:
        """The counts themselves, and then as many balls of the first putter, many times: (1 + times, cells)."""
        chances = self.chances[0] / self.chances[0].sum()
        again = rng.multinomial(int(self.counts.sum()), chances, size=TIMES)
        return np.vstack([self.counts, again]).astype(float)

    @property
    def slopes(self) -> Array:
        """How the log of each chance goes with each parameter: (cells, 4)."""
        logs = np.log(self.chances)
        slopes: Array = ((logs[1:5] - logs[5:]) / (2 * STEP)).T
        return slopes


def fits(records: Iterable[Record], theta: Array) -> float:
    """The chance that balls of a putter like this one stray from the model at least as far as these did.

    `theta` (4,) is the likeliest putter of the same records. Balls are drawn again, always in the same way; what a
    new fit would take from their deviance is taken, to first order. Raises ValueError for no balls.
    Rao (1948), Proc. Camb. Phil. Soc. 44, 50-57.
    """
    near = np.vstack([theta, theta + STEP * np.eye(4), theta - STEP * np.eye(4)])
    groups = [cells for cells in cells_of(records, near) if cells.counts.sum()]
    if not groups:
        raise ValueError("no balls, nothing to describe")
    rng = np.random.default_rng(SEED)
    strayed, score, known = np.zeros(TIMES + 1), np.zeros((TIMES + 1, 4)), np.zeros((4, 4))
    for cells in groups:
        drawn, slopes, expected = cells.redrawn(rng), cells.slopes, cells.counts.sum() * cells.chances[0]
        strayed += 2 * xlogy(drawn, drawn / expected).sum(axis=1)
        score += drawn @ slopes
        known += slopes.T * expected @ slopes
    inverse = np.linalg.pinv(known, rcond=1e-6, hermitian=True)
    strayed[1:] -= np.einsum("ti,ij,tj->t", score[1:], inverse, score[1:])
    strayed = np.maximum(strayed, NONE)
    return float(np.mean(strayed >= strayed[0]))


def cells_of(records: Iterable[Record], theta: Array) -> Iterator[Cells]:
    """The cells of each test, and of the sides of its misses."""
    for record in pooled(records):
        if isinstance(record, Gated):
            yield gate_cells(record, theta)
        elif isinstance(record, Leaves):
            yield leave_cells(record, theta)
        else:
            yield counted_cells(record, theta)
            if record.sided:
                yield side_cells(record, theta)


def gate_cells(record: Gated, theta: Array) -> Cells:
    """Through the gate, and beside it to either side, or where that was not always told, beside it."""
    error = np.array([gate_error_deg(record.distance_m, record.width_m)])
    push, pull = starts(theta, error, np.array([inf])), starts(theta, np.array([-inf]), -error)
    passed = starts(theta, -error, error)
    if record.beside:
        counts, chances = [record.passed, record.push + record.pull + record.beside], [passed, push + pull]
    else:
        counts, chances = [record.passed, record.push, record.pull], [passed, push, pull]
    return Cells(np.array(counts), np.hstack(chances))


def counted_cells(record: Counted, theta: Array) -> Cells:
    """Holed, short and past, or holed and missed."""
    distance = np.array([record.distance_m])
    drops = holed(theta, distance)
    if record.short is None:
        return Cells(np.array([record.holed, record.missed]), np.hstack([drops, 1 - drops]))
    short = stops(theta, distance, np.array([-inf]), np.array([0.0]))
    counts = np.array([record.holed, record.short, record.missed - record.short])
    return Cells(counts, np.hstack([drops, short, 1 - drops - short]))


def side_cells(record: Counted, theta: Array) -> Cells:
    """Misses to either side, of those whose side is known."""
    sided = Sided(Rows([], side_rows(record), []))
    chances = sided.chances(Normal(LINE, sided.lines).alone(theta), Normal(PACE, sided.paces).alone(theta))
    return Cells(sided.numbers, chances[0].T.copy())


def leave_cells(record: Leaves, theta: Array) -> Cells:
    """Leaves in about five parts, each as likely as the next, cut where the steps are; and those that dropped."""
    cuts = [-inf, *fifths(record, theta[0]), inf]
    low, high = np.array(cuts[:-1]), np.array(cuts[1:])
    counts = np.histogram(record.leaves_m, np.clip(cuts, -FAR, FAR))[0]
    distance = np.full(len(low), record.distance_m)
    chances = stops(theta, distance, low, high)
    if not record.hole:
        return Cells(counts, chances)
    room = np.full(len(low), largest_error_deg(record.distance_m))
    within = stops(theta, distance, np.maximum(low, 0.0), np.minimum(high, TOLERANCE_M))
    drops = within * starts(theta, -room, room)
    return Cells(np.array([*counts, record.holed]), np.hstack([chances - drops, drops.sum(axis=1, keepdims=True)]))


def fifths(record: Leaves, theta: Array) -> list[float]:
    """The ends of steps that are nearest to where a putter's stops fall into five equal parts."""
    aim, step = record.distance_m + OVERSHOT_M, record.step_m
    places = aim * (1 + theta[PACE_BIAS] + np.exp(theta[PACE]) * np.array(FIFTHS)) - record.distance_m
    ends: list[float] = np.unique((np.round(places / step - 0.5) + 0.5) * step).tolist()
    return ends
