"""How many changes would have looked good at the next arrival anyway, had nothing carried over.

A change follows an arrival that saw the fault, and after a bad day a better one often comes by itself. The arrivals
around each change say how often it was as good without it; those that followed no change say it best.
"""

from collections.abc import Iterable, Sequence
from datetime import date
from itertools import pairwise

from lessons.progress.held import Outcome
from lessons.progress.points import GRADE_RANGE, Level, LookPoint, first_of_each_day, looks

# Common practice, no source; `manage.py calibrate` prints how near the truth this comes.
AROUND = 4  # arrivals on either side: a fault may become rarer in the meantime
LEAST = 3  # of these, below which nothing is said
WEIGHT = 2  # all arrivals around count as so many of those that followed no change


def chances_anyway(
    points: Sequence[LookPoint], results: Sequence[Outcome], opened: Iterable[date] = ()
) -> list[float | None]:
    """For each change the probability, from 0 to 1, that its arrival had looked as good anyway; None for too few looks.

    Takes points oldest first, their `outcomes`, and the days on which focuses were opened, which were picked for being
    bad. It takes one arrival to say nothing of the next; in streaks it comes out too high.
    """
    looked = first_of_each_day(looks(points))
    places = {point.day: place for place, point in enumerate(looked)}
    after_change = {each.day for before, each in pairwise(looked) if before.changed}
    picked = set(opened)
    found: list[float | None] = []
    for result in results:
        changed, now = points[result.before], points[result.now]
        place = places[now.day]
        around = looked[max(0, place - AROUND) : place + AROUND + 1]
        others = [each for each in around if each.day not in picked | {changed.day, now.day}]
        found.append(chance_among(others, after_change, changed.departure))
    return found


def chance_among(others: Sequence[LookPoint], after_change: set[date], departure: Level) -> float | None:
    """The share of other arrivals that were as good as a departure, mostly of those that followed no change."""
    if len(others) < LEAST:
        return None
    share = sum(is_as_good(each.level, departure) for each in others) / len(others)
    alone = [is_as_good(each.level, departure) for each in others if each.day not in after_change]
    return (sum(alone) + WEIGHT * share) / (len(alone) + WEIGHT)


def is_as_good(level: Level, departure: Level) -> bool:
    """Whether a look is surely no worse than a departure."""
    return GRADE_RANGE[level][1] <= GRADE_RANGE[departure][0]


def expected_anyway(chances: Sequence[float | None]) -> float | None:
    """How many of all changes would have looked good anyway; None where most of them say nothing."""
    known = [chance for chance in chances if chance is not None]
    return len(chances) * sum(known) / len(known) if known and 2 * len(known) >= len(chances) else None
