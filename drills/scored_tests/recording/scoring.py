"""What is done with scored tests: begun, a ball noted, a ball undone, finished, taken back. Each of them once."""

import uuid
from dataclasses import asdict, dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.db import transaction

from coachbook.accounts.models import Student, User
from drills.models import Ball, Design, ScoredTest
from lessons.models import Lesson

BACK = timedelta(days=14)  # so long a test may be taken back


class Refused(Exception):
    """What cannot be done with a test, in words for whoever tried."""


class Taken(Refused):
    """Something else is noted of this ball already."""

    def __init__(self, ball: Ball) -> None:
        super().__init__(f"Ball {ball.number} was noted before, and that stands.")
        self.ball = ball


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
class Seen:
    """What was seen of one ball, as its row holds it."""

    result: str
    length: str = ""
    away: str = ""
    leave_m: float | None = None

    def is_of(self, ball: Ball) -> bool:
        """Whether a ball holds just this."""
        return all(getattr(ball, name) == value for name, value in asdict(self).items())


@transaction.atomic
def begin_test(*, key: uuid.UUID, student: Student, set_up: SetUp, by: User) -> tuple[ScoredTest, bool]:
    """The test at this key, begun once; until the first ball it may still be set up anew. True: it is new.

    The side is frozen as the student plays it in the design's area.
    """
    values = {name: getattr(set_up, name) for name in SetUp.__dataclass_fields__}
    values["side"] = student.side(set_up.design.area)
    test, is_new = ScoredTest.objects.get_or_create(key=key, defaults={"student": student, "by": by, **values})
    if not is_new and is_untouched(test) and any(getattr(test, name) != value for name, value in values.items()):
        for name, value in values.items():
            setattr(test, name, value)
        test.save()
    return test, is_new


def is_untouched(test: ScoredTest) -> bool:
    """Whether no ball was hit yet, and none is ruled out."""
    return not test.done_at and not test.struck and not test.hit.exists()


@transaction.atomic
def note_ball(*, test: ScoredTest, number: int, distance_m: float, seen: Seen) -> tuple[Ball, bool]:
    """Note what became of a ball once; True: it is new. Raises Taken where something else is noted of it.

    Raises Refused for a ball out of turn, and for one after the test was finished or taken back.
    """
    test = locked(test)
    if ball := test.hit.filter(number=number).first():
        if not seen.is_of(ball):
            raise Taken(ball)
        return ball, False
    refuse_what_is_over(test)
    if number != (turn := test.hit.count() + 1):
        raise Refused(f"Ball {turn} comes before ball {number}.")
    return test.hit.create(number=number, distance_m=distance_m, **asdict(seen)), True


@transaction.atomic
def undo_ball(*, test: ScoredTest, number: int) -> bool:
    """Take the last ball back if it has this number, so that a double tap takes one. Raises Refused as `note_ball`."""
    test = locked(test)
    refuse_what_is_over(test)
    last = test.hit.last()
    if last is None or last.number != number:
        return False
    last.delete()
    return True


@transaction.atomic
def finish_test(*, test: ScoredTest, at: datetime) -> bool:
    """From now on the test counts, with the balls so far. Raises Refused where there are none."""
    test = locked(test)
    if test.done_at:
        return False
    refuse_what_is_over(test)
    if not test.hit.exists():
        raise Refused("No ball is noted yet, so there is nothing to count.")
    test.done_at = at
    test.save(update_fields=["done_at"])
    return True


@transaction.atomic
def strike_test(*, test: ScoredTest) -> bool:
    """Take a test back: it no longer counts, and its balls are kept."""
    test = locked(test)
    if test.struck:
        return False
    test.struck = True
    test.save(update_fields=["struck"])
    return True


def locked(test: ScoredTest) -> ScoredTest:
    """The test as it stands, held until the act is over."""
    return ScoredTest.objects.select_for_update().get(pk=test.pk)


def refuse_what_is_over(test: ScoredTest) -> None:
    """No ball comes and goes once a test was finished or taken back."""
    if test.struck:
        raise Refused("This test was taken back.")
    if test.done_at:
        raise Refused("This test is finished: no more balls. Begin another one.")
