"""Whether one change made in a lesson was still there at the next arrival; a focus's state is in `focus_states.py`.

A change on departure is performance; only the next arrival, unprompted and on another day, shows whether it was
learned. Soderstrom & Bjork (2015), Perspect. Psychol. Sci. 10, 176-199.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from functools import cache
from itertools import zip_longest
from typing import Literal, NamedTuple

from lessons.progress.intervals import Pairs, Share
from lessons.progress.points import GRADE_RANGE, Level, LevelCounts, LookPoint, is_better

Verdict = Literal["held", "partly", "lost"]


class Outcome(NamedTuple):
    """What an arrival showed of a change: `before` and `now` are the indexes of the two lessons in the history."""

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
        """All changes that a later arrival has shown."""
        return sum(self)

    @property
    def share(self) -> Share:
        """Held, of all; what held partly is not held."""
        return Share(self.held, self.total)


def changed_in_lesson(counts: LevelCounts) -> Pairs:
    """Count the lessons that looked at it on arrival and on departure, by when it was seen."""
    pairs: Counter[tuple[bool, bool]] = Counter()
    for (level, departure), lessons in counts.items():
        if "none" not in (level, departure):
            pairs[level != "0", departure != "0"] += lessons
    return Pairs(pairs[True, True], pairs[True, False], pairs[False, True], pairs[False, False])


def outcomes(points: Sequence[LookPoint]) -> list[Outcome]:
    """For each lesson that changed something, what the next arrival with a look showed of it.

    Takes points oldest first. An arrival on the day of the change itself does not count, and a change whose degrees
    cannot be compared with what came after has no outcome.
    """
    changes = [place for place, point in enumerate(points) if point.changed]
    found = (outcome_of(points, before, after) for before, after in zip_longest(changes, changes[1:]))
    return [outcome for outcome in found if outcome]


def outcome_of(points: Sequence[LookPoint], before: int, after: int | None) -> Outcome | None:
    """What the first look of a later day shows of the change at index `before`.

    `after` is the index of the next change. None where nobody has looked since, or where the next change came first.
    """
    changed = points[before]
    for now in range(before + 1, len(points)):
        if points[now].looked and points[now].day > changed.day:
            break
    else:
        return None
    if after is not None and after < now:
        return None
    verdict = verdict_on(changed.level, changed.departure, points[now].level)
    return Outcome(before, now, verdict, (points[now].day - changed.day).days) if verdict else None


@cache
def verdict_on(was: Level, departure: Level, now: Level) -> Verdict | None:
    """Whether a change from one level to another held; None where nothing changed or the degrees cannot be compared.

    Raises KeyError where nobody looked.
    """
    if not is_better(departure, was):
        return None
    if GRADE_RANGE[now][1] <= GRADE_RANGE[departure][0]:
        return "held"
    if GRADE_RANGE[now][0] >= GRADE_RANGE[was][1] or now == was:
        return "lost"
    return "partly" if is_better(now, was) else None


def count_verdicts(verdicts: Iterable[Verdict]) -> Held:
    """How many of each verdict."""
    found = Counter(verdicts)
    return Held(found["held"], found["partly"], found["lost"])
