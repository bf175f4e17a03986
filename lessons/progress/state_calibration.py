"""What a page says of simulated students by luck: states, changes that held, and shares of selective looks.

Each look copies the one before it with a probability, and else is drawn anew, so that looks come in streaks.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from random import Random

from lessons.progress.calibration import Row
from lessons.progress.focus_states import Rules, Span, Word, state_of
from lessons.progress.judgement import judge_all
from lessons.progress.points import Degree, LookPoint, has_selective_looks

OPENED = date(2026, 1, 5)  # any day
OPEN = [Span(OPENED, None)]
HALF = (0.5,) * 20
RELAPSE = (0.9,) * 10 + (0.1,) * 20 + (0.9,) * 10
WORKS = 10  # of the arrivals at the end of a relapse
DEGREES: dict[bool, Degree | None] = {True: "not_graded", False: None}
COPIED = (0.0, 0.3, 0.5, 0.7)


def draw_seen(rates: Sequence[float], copied: float, rng: Random) -> list[bool]:
    """Whether each look sees the fault, at its own rate; each copies the last with this probability."""
    found: list[bool] = []
    for rate in rates:
        found.append(found[-1] if found and rng.random() < copied else rng.random() < rate)
    return found


def fortnightly(seen: Sequence[bool], changes: bool = False) -> list[LookPoint]:
    """Looks two weeks apart after the day of the opening; where `changes`, a lesson leaves good whatever it saw."""
    return [
        LookPoint(OPENED + timedelta(weeks=2 * visit), True, DEGREES[bad], "", "0" if changes else "none")
        for visit, bad in enumerate(seen, 1)
    ]


def words_over_time(points: Sequence[LookPoint], since: int = 0) -> Iterator[Word]:
    """The state after each arrival, from the one with this index on."""
    rules = Rules()
    for last in range(since, len(points)):
        yield state_of(points[: last + 1], [], OPEN, rules).word


def share_ever(word: Word, rates: Sequence[float], copied: float, students: int, seed: int, since: int = 0) -> float:
    """The share of students of whom a state is said after any arrival, from the one with index `since` on."""
    rng = Random(seed)
    drawn = (fortnightly(draw_seen(rates, copied, rng)) for _ in range(students))
    return sum(word in words_over_time(points, since) for points in drawn) / students


# --- Changes that held though nothing carries over ------------------------------------------------


def draw_changes(rate: float, carried: float, arrivals: int, rng: Random) -> list[LookPoint]:
    """Arrivals of which each lesson leaves good what it saw; that carries over with a probability, to one arrival."""
    seen: list[bool] = []
    for _ in range(arrivals):
        is_kept = bool(seen) and seen[-1] and rng.random() < carried
        seen.append(not is_kept and rng.random() < rate)
    return fortnightly(seen, changes=True)


def mean_held(rate: float, carried: float, students: int, seed: int) -> tuple[float, float]:
    """The share of the changes of many students that held, and the share that is said to look good anyway.

    Of changes of which the page says both, in twenty arrivals of each student.
    """
    rng, held, expected, total = Random(seed), 0, 0.0, 0
    for _ in range(students):
        points = draw_changes(rate, carried, 20, rng)
        found = judge_all([(points, OPEN)], Rules())[0]
        if found.anyway is not None:
            held, total, expected = held + found.held.held, total + found.held.total, expected + found.anyway
    return held / max(1, total), expected / max(1, total)


# --- Looks that are noted only when the fault is there --------------------------------------------


def draw_selective(rate: float, arrivals: int, rng: Random) -> list[LookPoint]:
    """Arrivals on which somebody notes what they see only where the fault is there."""
    every = fortnightly(draw_seen([rate] * arrivals, 0.0, rng))
    return [LookPoint(point.day, point.seen, point.degree, "") for point in every]


def share_ready(rates: Sequence[float], looked: Mapping[bool, float], students: int, seed: int) -> float:
    """The share of students who are ready to close in the end, looked at on all of the first ten arrivals.

    `looked` is how likely a later arrival is looked at that sees the fault, and one that does not.
    """
    rng, ready = Random(seed), 0
    for _ in range(students):
        every = fortnightly(draw_seen(rates, 0.0, rng))
        points = [
            point if place < 10 or rng.random() < looked[point.seen] else LookPoint(point.day, False, None, "")
            for place, point in enumerate(every)
        ]
        ready += state_of(points, [], OPEN, Rules()).word == "ready_to_close"
    return ready / students


def share_withheld(rate: float, arrivals: int, students: int, seed: int) -> float:
    """The share of such students with 3 looks or more, all on less than three quarters, whose share is withheld."""
    rng = Random(seed)
    drawn = (draw_selective(rate, arrivals, rng) for _ in range(students))
    found = [points for points in drawn if 3 <= sum(point.looked for point in points) <= 0.75 * arrivals]
    return sum(map(has_selective_looks, found)) / len(found)


# --- All of it ------------------------------------------------------------------------------------


def state_rows(tries: int) -> Iterator[Row]:
    """States by luck, a relapse, changes of which nothing carries over, and looks from bad days, with their marks."""
    for copied in COPIED:
        name = f"seen on half of 20, copies {copied:.0%}"
        mark = "printed" if copied else "<= 10%"
        yield Row(f"{name}: ready to close", share_ever("ready_to_close", HALF, copied, tries, 1), mark)
        yield Row(f"{name}: holding", share_ever("holding", HALF, copied, tries, 1), "printed")
    for copied in (0.0, 0.5):
        back = share_ever("returned", RELAPSE, copied, tries // 2, 2, len(RELAPSE) - WORKS)
        yield Row(f"relapse, copies {copied:.0%}: returned", back, "printed" if copied else ">= 80%")
    yield Row("returned before it relapses", share_ever("returned", RELAPSE[:-WORKS], 0.0, tries // 2, 2), "<= 15%")
    for rate, carried in ((0.5, 0.0), (0.2, 0.0), (0.9, 0.5)):
        held, anyway = mean_held(rate, carried, tries // 2, 3)
        name = f"seen {rate:.0%}, {carried:.0%} carries over"
        yield Row(f"{name}: held", held, "printed")
        yield Row(f"{name}: good anyway", anyway, f"truth {1 - rate:.0%}")
    noted_good = share_ready((0.5,) * 30, {True: 0, False: 1}, tries, 6)
    yield Row("seen on half of 30, later noted only when good: ready to close", noted_good, "printed")
    for share in (1.0, 0.8, 0.5):
        healed = share_ready((0.9,) * 10 + (0.05,) * 20, {True: share, False: share}, tries, 7)
        yield Row(f"healed after 10, then looked at on {share:.0%} of 20: ready to close", healed, "printed")
    for arrivals in (12, 20):
        withheld = share_withheld(0.5, arrivals, tries, 5)
        yield Row(f"noted when bad, {arrivals} arrivals: withheld", withheld, ">= 95%")
