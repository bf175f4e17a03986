"""How many changes would have looked good at the next arrival anyway, had nothing carried over.

A change follows an arrival that saw the fault, and after a bad day a better one often comes by itself. The arrivals
around each change say how often it was as good without it; those that followed no change say it best.
"""

from collections.abc import Iterable, Sequence
from datetime import date
from functools import cache
from itertools import accumulate
from operator import attrgetter

from lessons.progress.held import Outcome
from lessons.progress.points import GRADE_RANGE, Level, LookPoint, first_of_each_day, looks

# Common practice, no source; `manage.py calibrate` prints how near the truth this comes.
AROUND = 5  # arrivals on either side: a fault may become rarer in the meantime
LEAST = 3  # of these, below which nothing is said
OTHER, ALONE, GOOD = 1, 16, 256  # digits; a window has fewer than sixteen looks
DAY, LEVEL, CHANGED = map(attrgetter, ("day", "level", "changed"))
# All arrivals around count as so much of one that followed no change: what carried over makes them too good, but often
# no other says anything. With 2, changes of which half carry over looked good anyway in 22 of 100, in place of 10.
WEIGHT = 0.5


def chances_anyway(
    points: Sequence[LookPoint], results: Sequence[Outcome], opened: Iterable[date] = ()
) -> list[float | None]:
    """For each change the probability, from 0 to 1, that its arrival had looked as good anyway; None for too few looks.

    Takes points oldest first, their `outcomes`, and the days on which focuses were opened, which were picked for being
    bad. It takes one arrival to say nothing of the next; in streaks it comes out too high.
    """
    if not results:
        return []
    around = Around(first_of_each_day(looks(points)), set(opened))
    return [around.chance(points[result.before], points[result.now].day) for result in results]


class Around:
    """The first look of each day, oldest first, weighed once for all changes of one departure.

    The looks of days on which a focus was opened, `picked`, count for nothing. Four counts are added up at once, as
    four digits of one number: the looks that count, those of them that followed no change, and of both the good ones.
    """

    def __init__(self, looked: Sequence[LookPoint], picked: set[date]) -> None:
        self.looked, self.picked = looked, picked
        self.places = {day: place for place, day in enumerate(map(DAY, looked))}
        self.weighed: dict[Level, tuple[list[int], list[int]]] = {}

    def chance(self, changed: LookPoint, now: date) -> float | None:
        """The share of other arrivals that were as good as a departure, mostly of those that followed no change."""
        place, was = self.places[now], self.places[changed.day]
        weights, sums = self.weighed.get(changed.departure) or self.weigh(changed.departure)
        window = sums[min(place + AROUND + 1, len(weights))] - sums[max(0, place - AROUND)]
        return share_of(window - weights[place] - weights[was])

    def weigh(self, departure: Level) -> tuple[list[int], list[int]]:
        """The weight of each look, where that of a good one also counts among the good; and their sums so far."""
        alone = {level: (OTHER + ALONE) * (1 + GOOD * is_as_good(level, departure)) for level in GRADE_RANGE}
        after_change = {level: OTHER * (1 + GOOD * is_as_good(level, departure)) for level in GRADE_RANGE}
        pairs = zip(self.looked, [False, *map(CHANGED, self.looked)], strict=False)
        weights = [(after_change if follows_change else alone)[point.level] for point, follows_change in pairs]
        for day in self.picked & self.places.keys():
            weights[self.places[day]] = 0
        self.weighed[departure] = weights, [0, *accumulate(weights)]
        return self.weighed[departure]


@cache
def share_of(weight: int) -> float | None:
    """The share of good looks, above all of those that followed no change; None for too few."""
    number, alone, good, good_alone = (weight // digit % ALONE for digit in (OTHER, ALONE, GOOD, GOOD * ALONE))
    if number < LEAST:
        return None
    return (good_alone + WEIGHT * (good / number)) / (alone + WEIGHT)


def is_as_good(level: Level, departure: Level) -> bool:
    """Whether a look is surely no worse than a departure."""
    return GRADE_RANGE[level][1] <= GRADE_RANGE[departure][0]


def expected_anyway(chances: Sequence[float | None]) -> float | None:
    """How many of all changes would have looked good anyway; None where most of them say nothing."""
    known = [chance for chance in chances if chance is not None]
    return len(chances) * sum(known) / len(known) if known and 2 * len(known) >= len(chances) else None
