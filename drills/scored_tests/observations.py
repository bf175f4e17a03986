"""Scored tests as the model of a putter reads them, and what a student's tests of late say together."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from coachbook.accounts.models import Student
from drills.models import Ball, Design, ScoredTest
from drills.putting.observations import Counted, Gated, Leaves, Record

OF_LATE = timedelta(days=60)  # tests so old still say what a student putts like now; common practice, no source
Stations = dict[float, list[Ball]]


def tests_of_late(student: Student, on: date, side: str) -> list[ScoredTest]:
    """The putting tests of a student that count, of the last weeks and from one side, with their balls."""
    found = student.scored_tests.done().filter(design__area="putting", side=side, day__lte=on)
    return list(found.since(on - OF_LATE).prefetch_related("hit"))


def latest_tests(student: Student, number: int) -> list[ScoredTest]:
    """The last tests of a student that count, latest first, with their balls."""
    return list(student.scored_tests.done().order_by("-day", "-pk").prefetch_related("hit")[:number])


def stations_of(test: ScoredTest) -> list[Record]:
    """A record for each distance of one test."""
    stations: Stations = defaultdict(list)
    for ball in test.hit.all():
        stations[ball.distance_m].append(ball)
    if test.design.kind == Design.Kind.GATE:
        return [gated(distance, test.width_m or 0.0, balls) for distance, balls in stations.items()]
    if test.design.kind == Design.Kind.COUNTED:
        return [counted(distance, balls) for distance, balls in stations.items()]
    if test.design.kind in (Design.Kind.LEAVES, Design.Kind.LADDER):
        return [left(test, distance, balls) for distance, balls in stations.items()]
    return []


def gated(distance_m: float, width_m: float, balls: Sequence[Ball]) -> Gated:
    """Balls through a gate."""
    passed = sum(ball.result == Ball.Result.THROUGH for ball in balls)
    push, pull = sides(balls)
    return Gated(distance_m, width_m, passed, push, pull, len(balls) - passed - push - pull)


def counted(distance_m: float, balls: Sequence[Ball]) -> Counted:
    """Putts holed and missed; what was short counts only where it was said of every miss."""
    missed = [ball for ball in balls if ball.result == Ball.Result.MISSED]
    push, pull = sides(balls)
    told = all(ball.length for ball in missed)
    short = sum(ball.length == Ball.Length.SHORT for ball in missed) if told else None
    return Counted(distance_m, len(balls), len(balls) - len(missed), short, push, pull)


def left(test: ScoredTest, distance_m: float, balls: Sequence[Ball]) -> Leaves:
    """Leaves as they were measured."""
    leaves = tuple(ball.leave_m for ball in balls if ball.leave_m is not None)
    holed = sum(ball.result == Ball.Result.HOLED for ball in balls)
    return Leaves(distance_m, leaves, test.step_m, holed, hole=test.design.has_hole)


def sides(balls: Iterable[Ball]) -> tuple[int, int]:
    """How many went to the push side and to the pull side."""
    away = [ball.away for ball in balls]
    return away.count(Ball.Away.PUSH), away.count(Ball.Away.PULL)
