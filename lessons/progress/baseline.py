"""How many changes would have looked good at the next arrival anyway, had nothing carried over.

A change follows an arrival that saw the fault, and after a bad day a better one often comes by itself. The arrivals
around each change say how often it was as good without it; those that followed no change say it best.
"""

from collections.abc import Iterable, Sequence
from datetime import date
from operator import and_

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
    if not results:
        return []
    around = Around(first_of_each_day(looks(points)), set(opened))
    return [around.chance(points[result.before], points[result.now].day) for result in results]


class Around:
    """The first look of each day, oldest first, flagged once for all changes.

    The looks of days on which a focus was opened, `picked`, count for nothing.
    """

    def __init__(self, looked: Sequence[LookPoint], picked: set[date]) -> None:
        after_change = [False, *(before.changed for before in looked)]
        self.levels = [point.level for point in looked]
        self.places = {point.day: place for place, point in enumerate(looked)}
        self.others = bytes([point.day not in picked for point in looked])  # 1 or 0: bytes are counted quickly
        self.alone = bytes([other and not after for other, after in zip(self.others, after_change, strict=False)])
        self.as_good: dict[Level, tuple[bytes, bytes]] = {}

    def chance(self, changed: LookPoint, now: date) -> float | None:
        """The share of other arrivals that were as good as a departure, mostly of those that followed no change."""
        place, was = self.places[now], self.places[changed.day]
        window = max(0, place - AROUND), place + AROUND + 1, place, was
        number = count(self.others, *window)
        if number < LEAST:
            return None
        good, good_alone = self.flag_as_good(changed.departure)
        share = count(good, *window) / number
        return (count(good_alone, *window) + WEIGHT * share) / (count(self.alone, *window) + WEIGHT)

    def flag_as_good(self, departure: Level) -> tuple[bytes, bytes]:
        """Which looks were as good as a departure: of all, and of those that followed no change."""
        if departure not in self.as_good:
            good = {level: is_as_good(level, departure) for level in GRADE_RANGE}
            of_all = bytes([flag and good[level] for flag, level in zip(self.others, self.levels, strict=True)])
            self.as_good[departure] = of_all, bytes(map(and_, self.alone, of_all))
        return self.as_good[departure]


def count(flags: bytes, begin: int, end: int, place: int, was: int) -> int:
    """How many are set from one place up to another, without the two places within that a change is about."""
    return flags.count(1, begin, end) - flags[place] - flags[was]


def is_as_good(level: Level, departure: Level) -> bool:
    """Whether a look is surely no worse than a departure."""
    return GRADE_RANGE[level][1] <= GRADE_RANGE[departure][0]


def expected_anyway(chances: Sequence[float | None]) -> float | None:
    """How many of all changes would have looked good anyway; None where most of them say nothing."""
    known = [chance for chance in chances if chance is not None]
    return len(chances) * sum(known) / len(known) if known and 2 * len(known) >= len(chances) else None
