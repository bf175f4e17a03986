"""The plan of a week: compared with scipy's integer programming on random weeks, and read on weeks of known outcome.

The programs are written here from the rules in words (`drills.plan`), one for what is met and kept, one for what is
spaced; scipy.optimize.milp (HiGHS) solves them, and no line of the planner takes part.
"""

import random
import sys
from collections.abc import Iterator
from itertools import combinations
from types import FrameType

import numpy
from scipy.optimize import Bounds, LinearConstraint, milp

from drills.plan import Ask, Plan, follow_week, plan_week, usual_days
from drills.plan.search import has_room

WEEKS = 250
DAYS = range(7)


def random_weeks(number: int = WEEKS) -> Iterator[tuple[random.Random, list[Ask], list[int]]]:
    """Weeks of one to three drills: some with room for all, many without."""
    for seed in range(number):
        dice = random.Random(seed)
        asks = [Ask(dice.choice([5, 8, 10, 12, 15, 20]), dice.randint(1, 7)) for _ in range(dice.randint(1, 3))]
        yield dice, asks, [dice.choice([0, 10, 15, 20, 30, 45]) for _ in DAYS]


def solve(cost: numpy.ndarray, *constraints: LinearConstraint) -> numpy.ndarray:
    """The whole numbers 0 and 1 that make the cost least."""
    answer = milp(cost, integrality=numpy.ones_like(cost), bounds=Bounds(0, 1), constraints=constraints)
    assert answer.success, answer.message
    return numpy.round(answer.x)


def met_and_kept(asks: list[Ask], room: list[int], first: int = 0, before: list[set[int]] | None = None) -> list[int]:
    """How many sessions of each drill have room, the first drills before the last, and how many stay on their day.

    A column for each drill and day. Seven sessions of a drill weigh less than one of the drill before it, and what is
    kept weighs less than any session.
    """
    number = len(asks)
    weight = numpy.array([[32 * 8 ** (number - 1 - drill)] * 7 for drill in range(number)])
    kept = numpy.array([[day in (before or [set()] * number)[drill] for day in DAYS] for drill in range(number)])
    minutes = [[asks[drill].minutes * (day == each) for drill in range(number) for day in DAYS] for each in DAYS]
    sessions = [[int(drill == each) for drill in range(number) for _ in DAYS] for each in range(number)]
    open_days = [minute if day >= first else 0 for day, minute in enumerate(room)]
    chosen = solve(
        -(weight + kept).ravel(),
        LinearConstraint(minutes, ub=open_days),
        LinearConstraint(sessions, ub=[ask.sessions for ask in asks]),
    ).reshape(number, 7)
    return [*chosen.sum(axis=1).astype(int), int((chosen * kept).sum())]


def squares(days: tuple[int, ...]) -> int:
    """The squares of the days between sessions, the week being a circle."""
    following = [*days[1:], *(day + 7 for day in days[:1])]
    return sum((later - day) ** 2 for day, later in zip(days, following, strict=True))


def least_squares(asks: list[Ask], room: list[int], sessions: list[int]) -> int:
    """The least sum of squares with so many sessions of each drill: a column for each drill and set of days."""
    columns = [(drill, days) for drill, count in enumerate(sessions) for days in combinations(DAYS, count)]
    one_each = [[int(drill == each) for drill, _ in columns] for each in range(len(asks))]
    minutes = [[asks[drill].minutes * (day in days) for drill, days in columns] for day in DAYS]
    cost = numpy.array([float(squares(days)) for _, days in columns])
    chosen = solve(cost, LinearConstraint(one_each, 1, 1), LinearConstraint(minutes, ub=room))
    return round(cost @ chosen)


def test_every_dose_is_met_whenever_that_is_possible_and_no_day_holds_more_than_its_minutes() -> None:
    fits = 0
    for _, asks, room in random_weeks():
        plan = plan_week(asks, room)
        for day in DAYS:
            assert sum(ask.minutes for ask, days in zip(asks, plan, strict=True) if day in days) <= room[day]
        met = [len(days) for days in plan]
        assert met == met_and_kept(asks, room)[:-1], (asks, room)
        fits += met == [ask.sessions for ask in asks]
    assert WEEKS / 5 < fits < WEEKS * 4 / 5  # both kinds of weeks were among them


def test_the_sessions_of_a_week_are_spaced_as_far_as_they_can_be() -> None:
    for _, asks, room in random_weeks(60):
        plan = plan_week(asks, room)
        spaced = sum(squares(tuple(sorted(days))) for days in plan)
        assert spaced == least_squares(asks, room, [len(days) for days in plan]), (asks, room)


def test_after_a_missed_day_as_few_sessions_as_possible_change_their_day() -> None:
    moved = 0
    for dice, asks, room in random_weeks():
        plan, missed = plan_week(asks, room), dice.randrange(6)
        done = [{day for day in days if day < missed} for days in plan]
        later = [{day for day in days if day > missed} for days in plan]
        left = [Ask(ask.minutes, ask.sessions - len(days)) for ask, days in zip(asks, done, strict=True)]
        week = follow_week(asks, room, done, missed + 1)
        kept = sum(len(days & before) for days, before in zip(week.plan, later, strict=True))
        expected = met_and_kept(left, room, missed + 1, later)
        assert [*map(len, week.plan), kept] == expected, (asks, room, missed)
        moved += any(each.to is not None for each in week.moved)
    assert moved > WEEKS / 10


def test_through_a_week_in_which_any_day_may_be_missed_all_that_is_still_possible_stays_planned() -> None:
    """Each drill that is planned for a day is done or left by the toss of a coin."""
    let_go = 0
    for dice, asks, room in random_weeks(25):
        done: list[set[int]] = [set() for _ in asks]
        for today in DAYS:
            plan = follow_week(asks, room, done, today).plan
            left = [Ask(ask.minutes, ask.sessions - len(days)) for ask, days in zip(asks, done, strict=True)]
            assert [len(days) for days in plan] == met_and_kept(left, room, today)[:-1], (asks, room, done, today)
            for drill, days in enumerate(plan):
                if today in days and dice.random() < 0.5:
                    done[drill].add(today)
        for day in DAYS:
            assert sum(ask.minutes for ask, days in zip(asks, done, strict=True) if day in days) <= room[day]
        let_go += any(len(days) < len(whole) for days, whole in zip(done, plan_week(asks, room), strict=True))
    assert let_go > 5


def test_the_same_asks_make_the_same_plan_and_a_week_that_goes_as_planned_never_changes() -> None:
    for _, asks, room in random_weeks(40):
        plan = plan_week(asks, room)
        assert plan_week(list(asks), tuple(room)) == plan
        for today in DAYS:
            week = follow_week(asks, room, [{day for day in days if day < today} for days in plan], today)
            assert (week.plan, week.moved) == (tuple(frozenset(d for d in days if d >= today) for days in plan), [])


def test_a_missed_session_moves_to_a_later_day_and_one_without_a_later_day_is_let_go() -> None:
    asks, room = [Ask(10, 2)], [20, 0, 0, 20, 0, 20, 0]
    assert plan_week(asks, room) == ({0, 3},)
    [moved] = follow_week(asks, room, [set()], 1).moved
    assert (moved.day, moved.to) == (0, 5)
    assert follow_week(asks, room, [set()], 1).plan == ({3, 5},)
    assert [each.to for each in follow_week(asks, room, [set()], 6).moved] == [5, None, None]
    assert follow_week(asks, room, [set()], 1, spare=[20] * 7).plan == ({3, 6},)


def test_a_drill_done_on_another_day_takes_the_place_of_a_planned_one() -> None:
    """Planned on 0, 2 and 4; done on 0 and 1, so that one session is left."""
    asks, room = [Ask(10, 3)], [10, 10, 10, 0, 10, 0, 0]
    assert plan_week(asks, room) == ({0, 2, 4},)
    assert follow_week(asks, room, [{0, 1}], 1).plan == ({4},)


def test_what_was_done_today_counts_in_the_minutes_of_today() -> None:
    asks, room = [Ask(20, 1), Ask(15, 2)], [30, 0, 30, 0, 30, 0, 0]
    for done in ([set(), set()], [{0}, set()]):
        plan = follow_week(asks, room, done, 0).plan
        minutes = sum(ask.minutes for ask, days, when in zip(asks, plan, done, strict=True) if 0 in {*days, *when})
        assert minutes <= 30


def test_the_drill_that_stands_last_gives_way() -> None:
    asks, room = [Ask(10, 3), Ask(10, 3)], [10] * 5 + [0] * 2
    assert [len(days) for days in plan_week(asks, room)] == [3, 2]


def test_days_are_alike_where_all_else_is_equal() -> None:
    """Two drills three times a week on six days: one a day."""
    plan = plan_week([Ask(10, 3), Ask(10, 3)], [60] * 7)
    assert not plan[0] & plan[1]


def test_more_drills_than_focuses_and_none_at_all_have_a_plan() -> None:
    assert plan_week([], [60] * 7) == ()
    plan = plan_week([Ask(5, 3)] * 12, [30] * 7)
    assert all(sum(day in days for days in plan) * 5 <= 30 for day in DAYS)
    assert [len(days) for days in plan] == [3] * 12


def test_a_long_list_of_drills_is_laid_out_with_few_looks_and_still_keeps_to_its_minutes() -> None:
    """Counted, not timed: a drill of a long list has fewer sets of days looked at than one of a short list."""
    looks = {}
    for number in (12, 130):
        asks = [Ask(5 + drill % 26, 3 + drill % 2) for drill in range(number)]
        plan, looks[number] = looks_at(asks, [24 * 60] * 7)
        assert [len(days) for days in plan] == [ask.sessions for ask in asks]
    assert looks[12] < 12 * 35 * 100 / 2  # 35 sets of three days, each with half of a hundred drafts
    assert looks[130] < looks[12] * 3 / 2


def looks_at(asks: list[Ask], room: list[int]) -> tuple[Plan, int]:
    """A plan, and how often the planner asked whether some days have room."""
    looks = 0

    def count(frame: FrameType, event: str, _: object) -> None:
        nonlocal looks
        looks += event == "call" and frame.f_code is has_room.__code__

    sys.setprofile(count)
    try:
        plan = plan_week(asks, room)
    finally:
        sys.setprofile(None)
    return plan, looks


def test_usual_days_suit_the_doses() -> None:
    assert usual_days([Ask(10, 3)]) == [0, 2, 4]
    assert usual_days([Ask(20, 3), Ask(20, 3)]) == [0, 1, 3, 5]  # 120 minutes are four days of half an hour
    assert usual_days([Ask(60, 7)]) == [0, 1, 2, 3, 4, 5, 6]
    assert usual_days([Ask(10, 5)], 2) == [0, 3]
    assert usual_days([]) == []
