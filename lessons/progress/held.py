"""What became of a change: made in a lesson, and still there at the next arrival, or not.

A change on departure is performance; only the next arrival, unprompted and on another day, tells whether it was
learned. Soderstrom & Bjork (2015), Perspect. Psychol. Sci. 10, 176-199.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from itertools import zip_longest
from operator import attrgetter
from typing import Literal, NamedTuple

from lessons.progress.intervals import Pairs, Share
from lessons.progress.points import REACH, Level, LookPoint, is_better

Verdict = Literal["held", "partly", "lost"]
LEVELS = attrgetter("level", "left")


class Outcome(NamedTuple):
    """What the arrival of one lesson showed of the change made in another: both by their place in the history."""

    before: int
    now: int
    verdict: Verdict
    days: int


class Held(NamedTuple):
    """How often a change was still there, partly there, or gone at the next arrival."""

    held: int = 0
    partly: int = 0
    lost: int = 0

    @property
    def total(self) -> int:
        """All changes that an arrival has told of."""
        return sum(self)

    @property
    def share(self) -> Share:
        """Held, of all; what held partly is not held."""
        return Share(self.held, self.total)


def changed_in_lesson(points: Iterable[LookPoint]) -> Pairs:
    """Where the fault was seen on arrival and on departure, over the lessons that looked at it both times."""
    pairs: Counter[tuple[bool, bool]] = Counter()
    for (level, left), lessons in Counter(map(LEVELS, points)).items():
        if "none" not in (level, left):
            pairs[level != "0", left != "0"] += lessons
    return Pairs(pairs[True, True], pairs[True, False], pairs[False, True], pairs[False, False])


def outcomes(points: Sequence[LookPoint]) -> list[Outcome]:
    """For each lesson that changed something, what the next arrival at which somebody looked showed of it.

    Takes points oldest first. An arrival on the day of the change itself says nothing of it, and a change whose
    degrees cannot be compared with what came after has no outcome.
    """
    changes = [place for place, point in enumerate(points) if point.changed]
    found = (told_by_next(points, before, after) for before, after in zip_longest(changes, changes[1:]))
    return [outcome for outcome in found if outcome]


def told_by_next(points: Sequence[LookPoint], before: int, after: int | None) -> Outcome | None:
    """What the first look of a later day shows of a change, unless another change comes `after` it on its own day."""
    changed = points[before]
    for now in range(before + 1, len(points)):
        if points[now].looked and points[now].day > changed.day:
            break
    else:
        return None
    if after is not None and after < now:
        return None
    verdict = verdict_on(changed.level, changed.left, points[now].level)
    return Outcome(before, now, verdict, (points[now].day - changed.day).days) if verdict else None


def verdict_on(was: Level, left: Level, now: Level) -> Verdict | None:
    """What an arrival says of a change from one level to another; nothing where there was none or it cannot be told.

    Raises KeyError where nobody looked.
    """
    if not is_better(left, was):
        return None
    if REACH[now][1] <= REACH[left][0]:
        return "held"
    if REACH[now][0] >= REACH[was][1] or now == was:
        return "lost"
    return "partly" if is_better(now, was) else None


def counted(verdicts: Iterable[Verdict]) -> Held:
    """How many of each."""
    found = Counter(verdicts)
    return Held(found["held"], found["partly"], found["lost"])
