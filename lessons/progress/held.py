"""What became of a change: made in a lesson, and still there at the next arrival, or not.

A change on departure is performance; only the next arrival, unprompted and on another day, tells whether it was
learned. Soderstrom & Bjork (2015), Perspect. Psychol. Sci. 10, 176-199.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Literal, NamedTuple

from lessons.progress.intervals import Pairs, Share
from lessons.progress.points import Level, LookPoint

Verdict = Literal["held", "partly", "lost"]
# From the best to the worst that a level may mean: of what was not said how bad, only that it was there.
REACH: dict[Level, tuple[int, int]] = {"0": (0, 0), "1": (1, 1), "2": (2, 2), "any": (1, 2)}


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
    pairs = Counter((point.seen, point.left != "0") for point in points if point.looked and point.left != "none")
    return Pairs(pairs[True, True], pairs[True, False], pairs[False, True], pairs[False, False])


def outcomes(points: Sequence[LookPoint]) -> list[Outcome]:
    """For each lesson that changed something, what the next arrival at which somebody looked showed of it.

    Takes points oldest first. An arrival on the day of the change itself says nothing of it, and a change whose
    degrees cannot be compared with what came after has no outcome.
    """
    found: list[Outcome] = []
    before: int | None = None
    for now, point in enumerate(points):
        if not point.looked:
            continue
        if before is not None and point.day > points[before].day:
            changed = points[before]
            verdict = verdict_on(changed.level, changed.left, point.level)
            if verdict:
                found.append(Outcome(before, now, verdict, (point.day - changed.day).days))
            before = None
        if point.left != "none" and (before is None or is_better(point.left, point.level)):
            before = now
    return found


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


def is_better(one: Level, other: Level) -> bool:
    """Whether one level is better than another, whatever a degree that was not said may be."""
    return REACH[one][1] < REACH[other][0]


def counted(verdicts: Iterable[Verdict]) -> Held:
    """How many of each."""
    found = Counter(verdicts)
    return Held(found["held"], found["partly"], found["lost"])
