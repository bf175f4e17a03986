"""What an academy's rows would tell of its streaks, and what follows from a streakiness that is taken for usual.

The rows are pooled by the changes that are missing from look to look, as `streaks.streakiness` does for one fault.
"""

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from random import Random
from statistics import mean, stdev

from lessons.progress.calibration import Row, SimulatedStudent
from lessons.progress.scenarios import ARRIVALS, fading_student, steady, streaky
from lessons.progress.sequential import LEVEL, sequential_trend

LOOKS = (4, 6, 8, 12, 16, 20, 24)  # of the histories of an academy
OFTEN = (0.2, 0.4, 0.6, 0.8)  # how often a steady fault is seen
FADE = 0.3  # of the faults, this share goes away
ACADEMIES = {50: 40, 500: 8}  # how many of each size are drawn
USUAL = (0.1, 0.3, 0.5)


def pooled_streakiness(histories: Iterable[Sequence[bool]]) -> float:
    """How likely a look copies the one before, of all histories together; 0 where none of them changes."""
    changes = expected = 0.0
    for seen in histories:
        changes += sum(one is not other for one, other in pairwise(seen))
        expected += 2 * sum(seen) * (len(seen) - sum(seen)) / max(1, len(seen))
    return 1 - changes / expected if expected else 0.0


def draw_academy(number: int, copies: float, rng: Random) -> list[list[bool]]:
    """What the looks at so many faults showed, of which some go away."""
    students = [fading_student() if rng.random() < FADE else steady(rng.choice(OFTEN)) for _ in range(number)]
    return [[point.seen for point in streaky(student, rng.choice(LOOKS), copies, rng)] for student in students]


def share_called(student: SimulatedStudent, copies: float, usual: float, numbers: Sequence[int], tries: int) -> float:
    """The share of single histories called better after any of these numbers of looks."""
    rng, called = Random(f"{student} {copies}"), 0
    for _ in range(tries):
        levels = [point.level for point in streaky(student, max(numbers), copies, rng)]
        trends = (sequential_trend(levels[:number], [""] * number, usual) for number in numbers)
        called += any(trend.z < 0 and trend.p <= LEVEL for trend in trends)
    return called / tries


def streak_rows(tries: int) -> Iterator[Row]:
    """What rows would tell of 30 %, and what each streakiness that is taken for usual costs and keeps."""
    for number, academies in ACADEMIES.items():
        rng = Random(number)
        for copies in (0.0, 0.3, 0.5):
            averages = [pooled_streakiness(draw_academy(number, copies, rng)) for _ in range(academies)]
            yield Row(f"copies {copies:.0%}: {number} histories say", mean(averages), "printed")
            yield Row(f"copies {copies:.0%}: {number} histories say, spread", stdev(averages), "printed")
    for usual in USUAL:
        for copies in (0.0, 0.3, 0.5, 0.7):
            ever = share_called(steady(0.7), copies, usual, range(4, ARRIVALS + 1), 3 * tries)
            yield Row(f"usual {usual:.0%}, copies {copies:.0%}: ever rarer over 24 arrivals", ever, "printed")
        yield Row(
            f"usual {usual:.0%}: fades, 30 looks", share_called(fading_student(), 0, usual, [30], tries), "printed"
        )
