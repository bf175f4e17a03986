"""How many changes would have looked good at the next arrival anyway, had nothing carried over.

A change follows an arrival that saw the fault, and after a bad day a better one often comes by itself. The arrivals
around each change say how often it was as good without it; those that followed no change say it best.
"""

from collections.abc import Iterable, Sequence
from datetime import date
from functools import cache
from operator import attrgetter, mul

from lessons.progress.held import Outcome
from lessons.progress.points import GRADE_RANGE, Level, LookPoint, first_of_each_day, looks

# Common practice, no source; `manage.py calibrate` prints how near the truth this comes.
AROUND = 4  # arrivals on either side: a fault may become rarer in the meantime
LEAST = 3  # of these, below which nothing is said
OTHER, ALONE, GOOD = 1, 16, 256  # digits; a window has fewer than sixteen looks
LEVEL, CHANGED = attrgetter("level"), attrgetter("changed")
WEIGHT = 2  # all arrivals around count as so many of those that followed no change


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
        self.places = {point.day: place for place, point in enumerate(looked)}
        self.levels = list(map(LEVEL, looked))
        self.weights = [OTHER + ALONE, *(OTHER if changed else OTHER + ALONE for changed in map(CHANGED, looked))]
        self.weights.pop()  # nothing follows the last look
        for day in picked & self.places.keys():
            self.weights[self.places[day]] = 0
        self.weighed: dict[Level, list[int]] = {}

    def chance(self, changed: LookPoint, now: date) -> float | None:
        """The share of other arrivals that were as good as a departure, mostly of those that followed no change."""
        place, was, weights = self.places[now], self.places[changed.day], self.weigh(changed.departure)
        window = weights[max(0, place - AROUND) : place + AROUND + 1]
        return share_of(sum(window) - weights[place] - weights[was])

    def weigh(self, departure: Level) -> list[int]:
        """The weight of each look: that of a good one also counts among the good."""
        if departure not in self.weighed:
            factors = {level: 1 + GOOD * is_as_good(level, departure) for level in GRADE_RANGE}
            self.weighed[departure] = list(map(mul, self.weights, map(factors.__getitem__, self.levels)))
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
