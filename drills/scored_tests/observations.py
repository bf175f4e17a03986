"""A student's recent scored tests, and their balls as observations for the model of a putter."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from coachbook.accounts.models import Student
from drills.models import Ball, Design, ScoredTest
from drills.putting.observations import Counted, Gated, Leaves, Observation

RECENT_PERIOD = timedelta(days=60)  # so old a test still counts as recent; common practice, no source
Stations = dict[float, list[Ball]]


def recent_putting_tests(student: Student, on: date, side: str) -> list[ScoredTest]:
    """The finished putting tests of the recent period from one side, with their balls."""
    found = student.scored_tests.done().filter(design__area="putting", side=side, day__lte=on)
    return list(found.since(on - RECENT_PERIOD).prefetch_related("balls"))


def latest_tests(student: Student, number: int) -> list[ScoredTest]:
    """The last finished tests of a student, latest first, with their balls."""
    return list(student.scored_tests.done().order_by("-day", "-pk").prefetch_related("balls")[:number])


def latest_test_balls(student: Student) -> list[Ball]:
    """The balls of a student's last test that counts, in their order, with test and design; one query."""
    latest = student.scored_tests.done().order_by("-day", "-pk").values("pk")[:1]
    return list(Ball.objects.filter(test__in=latest).select_related("test__design").order_by("number"))


def observations_of(test: ScoredTest) -> list[Observation]:
    """One observation for each distance of a test."""
    stations: Stations = defaultdict(list)
    for ball in test.balls.all():
        stations[ball.distance_m].append(ball)
    if test.design.kind == Design.Kind.GATE:
        return [gate_observation(distance, test.width_m or 0.0, balls) for distance, balls in stations.items()]
    if test.design.kind == Design.Kind.COUNTED:
        return [counted_observation(distance, balls, test.aim_m) for distance, balls in stations.items()]
    if test.design.kind in (Design.Kind.LEAVES, Design.Kind.LADDER):
        return [leaves_observation(test, distance, balls) for distance, balls in stations.items()]
    return []


def gate_observation(distance_m: float, width_m: float, balls: Sequence[Ball]) -> Gated:
    """Balls through a gate."""
    passed = sum(ball.result == Ball.Result.THROUGH for ball in balls)
    push, pull = sides(balls)
    return Gated(distance_m, width_m, passed, push, pull, len(balls) - passed - push - pull)


def counted_observation(distance_m: float, balls: Sequence[Ball], past_m: float) -> Counted:
    """Putts holed and missed; `short` is None unless short or past was recorded for every miss."""
    missed = [ball for ball in balls if ball.result == Ball.Result.MISSED]
    push, pull = sides(balls)
    is_complete = all(ball.length for ball in missed)
    short = sum(ball.length == Ball.Length.SHORT for ball in missed) if is_complete else None
    return Counted(distance_m, len(balls), len(balls) - len(missed), short, push, pull, past_m)


def leaves_observation(test: ScoredTest, distance_m: float, balls: Sequence[Ball]) -> Leaves:
    """Measured leaves."""
    leaves = tuple(ball.leave_m for ball in balls if ball.leave_m is not None)
    holed = sum(ball.result == Ball.Result.HOLED for ball in balls)
    return Leaves(distance_m, leaves, test.step_m, holed, hole=test.design.has_hole, past_m=test.aim_m)


def sides(balls: Iterable[Ball]) -> tuple[int, int]:
    """How many went to the push side and to the pull side."""
    misses = [ball.miss for ball in balls]
    return misses.count(Ball.Miss.PUSH), misses.count(Ball.Miss.PULL)
