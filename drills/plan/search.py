"""The search for the best plan of a week: drill by drill, over all sets of days, by the rules of `drills.plan`."""

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from heapq import nsmallest
from itertools import combinations
from math import inf
from operator import itemgetter
from typing import NamedTuple

WEEK = 7
EXACT = 3  # for so many drills nothing is left out
FOLLOWED = 400  # for more, so many drafts are followed up, shared among the drills, so that a long list stays quick

Days = tuple[int, ...]
Minutes = tuple[int, ...]  # that each day of the week has left
Plan = tuple[frozenset[int], ...]  # for each drill the days to come on which it stands


@dataclass(frozen=True)
class Ask:
    """A drill that is asked for: the minutes that it takes, and how many times a week."""

    minutes: int
    sessions: int


class Draft(NamedTuple):
    """A plan for the first drills. The smaller draft is the better one, if both leave the same minutes free."""

    changed: int
    gaps: int
    days: tuple[Days, ...] = ()

    def plus(self, choice: "Choice") -> "Draft":
        """The draft with days for one drill more."""
        return Draft(self.changed + choice.changed, self.gaps + choice.gaps, (*self.days, choice.days))


class Choice(NamedTuple):
    """Some days for one drill: how many planned sessions they change, and how far they are spaced."""

    changed: int
    gaps: int
    days: Days


def plan_week(
    asks: Sequence[Ask],
    room: Sequence[int],
    *,
    done: Sequence[Collection[int]] | None = None,
    first: int = 0,
    before: Plan | None = None,
) -> Plan:
    """The days for each drill, of those from `first` on; the drill that matters most stands first.

    `room` holds the minutes of each day of the week, `done` for each drill the days on which it was reported, and
    `before` those for which it was planned, of which as few as possible change.
    """
    done = done or [()] * len(asks)
    before = before or (frozenset(),) * len(asks)
    drafts = {free_minutes(asks, room, done): Draft(0, 0)}
    for number, ask in enumerate(asks):
        choices = choices_for(ask, done[number], first, before[number])
        drafts = extend(drafts, choices, ask.minutes, is_last=number == len(asks) - 1)
        if len(asks) > EXACT:
            drafts = dict(nsmallest(max(1, FOLLOWED // len(asks)), drafts.items(), key=itemgetter(1)))
    _, best = min(drafts.items(), key=lambda item: rank(item[1], room, item[0]))
    return tuple(map(frozenset, best.days))


def free_minutes(asks: Sequence[Ask], room: Sequence[int], done: Sequence[Collection[int]]) -> Minutes:
    """The minutes that each day has left after what was reported on it."""
    taken = [sum(ask.minutes for ask, days in zip(asks, done, strict=True) if day in days) for day in range(WEEK)]
    return tuple(max(0, minutes - less) for minutes, less in zip(room, taken, strict=True))


def choices_for(ask: Ask, done: Collection[int], first: int, before: Collection[int]) -> Iterator[list[Choice]]:
    """All sets of days for a drill, those with the most sessions first, and among them the best first."""
    left = [day for day in range(first, WEEK) if day not in done]
    most = min(max(0, ask.sessions - len(done)), len(left))
    for number in range(most, -1, -1):
        yield sorted(
            Choice(len(set(before).difference(days)), gaps((*done, *days)), days) for days in combinations(left, number)
        )


def gaps(days: Iterable[int]) -> int:
    """The squares of the days from each session to the next, added up; the week is a circle. 0 without a session."""
    ordered = sorted(days)
    following = [*ordered[1:], *(day + WEEK for day in ordered[:1])]
    return sum((later - day) * (later - day) for day, later in zip(ordered, following, strict=True))


def extend(
    drafts: dict[Minutes, Draft], choices: Iterable[list[Choice]], minutes: int, *, is_last: bool
) -> dict[Minutes, Draft]:
    """The drafts with one drill more: with the most sessions for which any draft has room."""
    for equally_many in choices:
        found: dict[Minutes, Draft] = {}
        for free, draft in (best_with_each if is_last else with_each)(drafts, equally_many, minutes):
            if free not in found or draft < found[free]:
                found[free] = draft
        if found:
            return found
    return drafts


def with_each(drafts: dict[Minutes, Draft], choices: list[Choice], minutes: int) -> Iterator[tuple[Minutes, Draft]]:
    """Each draft with each choice that it has room for, and the minutes that are left."""
    for free, draft in drafts.items():
        for choice in choices:
            if has_room(free, choice, minutes):
                yield less_minutes(free, choice, minutes), draft.plus(choice)


def best_with_each(
    drafts: dict[Minutes, Draft], choices: list[Choice], minutes: int
) -> Iterator[tuple[Minutes, Draft]]:
    """The same without what rules 3 and 4 put behind one that was found already; choices come with the best first."""
    best: tuple[float, float] = (inf, inf)
    for free, draft in drafts.items():
        for choice in choices:
            if (cost := (draft.changed + choice.changed, draft.gaps + choice.gaps)) > best:
                break
            if has_room(free, choice, minutes):
                best = cost
                yield less_minutes(free, choice, minutes), draft.plus(choice)


def has_room(free: Minutes, choice: Choice, minutes: int) -> bool:
    """Whether each of these days has so many minutes left."""
    return all(free[day] >= minutes for day in choice.days)


def less_minutes(free: Minutes, choice: Choice, minutes: int) -> Minutes:
    """What these days leave free of the minutes of each."""
    return tuple(each - minutes if day in choice.days else each for day, each in enumerate(free))


def rank(draft: Draft, room: Sequence[int], free: Minutes) -> tuple[int, int, int, tuple[Days, ...]]:
    """The order of whole plans, by rules 3 to 6."""
    alike = sum((minutes - left) ** 2 for minutes, left in zip(room, free, strict=True))
    return draft.changed, draft.gaps, alike, draft.days
