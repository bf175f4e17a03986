"""A week as it goes: after each day that went otherwise than planned, the rest of it is planned again."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field

from drills.plan.search import Ask, Plan, plan_week


@dataclass(frozen=True)
class Moved:
    """A session that was planned for a day and not reported: the day to which it moved, or None if none had room."""

    drill: int
    day: int
    to: int | None


@dataclass(frozen=True)
class Week:
    """What stands on each day from today on, and what moved."""

    plan: Plan
    moved: list[Moved] = field(default_factory=list)


def follow_week(
    asks: Sequence[Ask],
    room: Sequence[int],
    done: Sequence[Collection[int]],
    today: int,
    spare: Sequence[int] | None = None,
) -> Week:
    """The plan of a week on one of its days.

    `done` holds for each drill the days up to today on which it was reported; `spare` says how many minutes each day
    has for sessions that move, where that is more than `room`. Today is planned until it is over; what
    was reported today counts at once. So the same reports always lead to the same plan, and none is stored.
    """
    week, spare = Week(plan_week(asks, room)), spare or room
    for day in range(today):
        planned, reported = on_day(week.plan, day), on_day(done, day)
        if planned != reported:
            so_far = [{each for each in days if each <= day} for days in done]
            week = continue_week(asks, spare, so_far, day, week, planned - reported)
    if on_day(done, today) - on_day(week.plan, today):
        week = Week(plan_week(asks, spare, done=done, first=today, before=from_day(week.plan, today)), week.moved)
    return Week(from_day(week.plan, today), week.moved)


def continue_week(
    asks: Sequence[Ask], room: Sequence[int], done: Sequence[Collection[int]], day: int, week: Week, missed: set[int]
) -> Week:
    """The week planned again after a day on which some drills were not reported."""
    before = from_day(week.plan, day + 1)
    plan = plan_week(asks, room, done=done, first=day + 1, before=before)
    moved = [Moved(drill, day, min(plan[drill] - before[drill], default=None)) for drill in sorted(missed)]
    return Week(plan, [*week.moved, *moved])


def on_day(days: Sequence[Collection[int]], day: int) -> set[int]:
    """The drills, by number, that have this day among theirs."""
    return {number for number, each in enumerate(days) if day in each}


def from_day(plan: Plan, first: int) -> Plan:
    """A plan without the days before one."""
    return tuple(frozenset(day for day in days if day >= first) for days in plan)
