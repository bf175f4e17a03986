"""Begin a scored test, note or undo a ball, finish the test, undo the whole test: each takes effect once."""

import uuid
from dataclasses import asdict, dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.db import transaction

from coachbook.accounts.models import Student, User
from drills.models import Ball, Design, ScoredTest
from lessons.models import Lesson

TEST_UNDO_PERIOD = timedelta(days=14)  # a test or a round may be undone for so long; common practice, no source


class ScoringError(Exception):
    """An action that a test does not allow; the message is for the user."""


class AlreadyNoted(ScoringError):
    """A different result is already noted for this ball."""

    def __init__(self, ball: Ball, seen: "BallSeen") -> None:
        super().__init__(f"Ball {ball.number} is already noted.")
        self.ball, self.seen = ball, seen


@dataclass(frozen=True)
class SetUp:
    """How a test is set up, in metres; a lesson and its moment where it belongs to one."""

    design: Design
    day: date
    step_m: float
    width_m: float | None = None
    stimp_ft: Decimal | None = None
    lesson: Lesson | None = None
    moment: str = ScoredTest.Moment.HOME
    plan: str = ""


@dataclass(frozen=True)
class BallSeen:
    """What somebody saw of one ball, in the fields of its row."""

    result: str
    length: str = ""
    miss: str = ""
    leave_m: float | None = None

    def matches(self, ball: Ball) -> bool:
        """Whether a stored ball has exactly these values."""
        return all(getattr(ball, name) == value for name, value in asdict(self).items())


@transaction.atomic
def begin_test(*, key: uuid.UUID, student: Student, set_up: SetUp, by: User) -> tuple[ScoredTest, bool]:
    """The test with this key, created once, and whether it is new; until the first ball its set-up may change.

    The side that the student plays in the design's area and the aim of the design are stored with the test.
    """
    values = {name: getattr(set_up, name) for name in SetUp.__dataclass_fields__}
    values["past_m"] = set_up.design.aim_m if set_up.design.has_aim else None
    values["side"] = student.side(set_up.design.area)
    test, is_new = ScoredTest.objects.get_or_create(key=key, defaults={"student": student, "by": by, **values})
    if not is_new and has_no_balls(test) and any(getattr(test, name) != value for name, value in values.items()):
        for name, value in values.items():
            setattr(test, name, value)
        test.save()
    return test, is_new


def has_no_balls(test: ScoredTest) -> bool:
    """Whether the test is open and has no ball yet."""
    return not test.done_at and not test.is_void and not test.balls.exists()


@transaction.atomic
def note_ball(*, test: ScoredTest, number: int, distance_m: float, seen: BallSeen) -> tuple[Ball, bool]:
    """Store a ball once, and return it and whether it is new. Raises AlreadyNoted if it has a different result.

    Raises ScoringError for a ball out of order, and for one after the test was finished or undone.
    """
    test = lock_test(test)
    if ball := test.balls.filter(number=number).first():
        if not seen.matches(ball):
            raise AlreadyNoted(ball, seen)
        return ball, False
    refuse_if_over(test)
    if number != (next_number := test.balls.count() + 1):
        raise ScoringError(f"Ball {next_number} comes before ball {number}.")
    return test.balls.create(number=number, distance_m=distance_m, **asdict(seen)), True


@transaction.atomic
def undo_ball(*, test: ScoredTest, number: int) -> bool:
    """Delete the last ball if it has this number, so that a double tap undoes one. Raises ScoringError."""
    test = lock_test(test)
    refuse_if_over(test)
    last = test.balls.last()
    if last is None or last.number != number:
        return False
    last.delete()
    return True


@transaction.atomic
def finish_test(*, test: ScoredTest, at: datetime) -> bool:
    """Finish the test with the balls so far; from now on it counts. Raises ScoringError if there are none."""
    test = lock_test(test)
    if test.done_at:
        return False
    refuse_if_over(test)
    if not test.balls.exists():
        raise ScoringError("No ball is noted yet, so there is nothing to count.")
    test.done_at = at
    test.save(update_fields=["done_at"])
    return True


@transaction.atomic
def void_test(*, test: ScoredTest) -> bool:
    """Undo a test: it no longer counts, and its balls are kept."""
    test = lock_test(test)
    if test.is_void:
        return False
    test.is_void = True
    test.save(update_fields=["is_void"])
    return True


def lock_test(test: ScoredTest) -> ScoredTest:
    """The test, read again and locked until the transaction ends."""
    return ScoredTest.objects.select_for_update().get(pk=test.pk)


def refuse_if_over(test: ScoredTest) -> None:
    """Raise ScoringError if the test was finished or undone."""
    if test.is_void:
        raise ScoringError("This test was undone.")
    if test.done_at:
        raise ScoringError("This test is finished: no more balls. Begin another one.")
