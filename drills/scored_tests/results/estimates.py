"""What a student's scored tests really say: gathered and worked out. It imports numpy: open it late."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal, cast

from coachbook.accounts.models import Academy, Area, Student
from drills.models import Ball, Design, ScoredTest
from drills.putting import predictions as outcome
from drills.putting import student_text as plain
from drills.putting.challenge import USUAL
from drills.putting.chips import Chipping, Rates, chipping
from drills.putting.coach_text import Ear
from drills.putting.model_checks import fits, tells_apart
from drills.putting.observations import Gated, Leaves, Record
from drills.putting.posterior import Posterior, posterior
from drills.putting.predictions import Challenge, Change, Known
from drills.scored_tests.observations import OF_LATE, stations_of, tests_of_late
from lessons.progress.intervals import Share
from lessons.progress.sentences import FEW

SHARES = (0.6, USUAL, 0.8)
GATE_AT_M = 1.0  # where a gate stands that nobody measured yet; common practice, no source
POORLY = 0.05  # balls of such a putter stray so far more rarely: the model does not describe these
Kind = Design.Kind


@dataclass(frozen=True)
class Putter:
    """What some putting tests come to; nothing is found of few balls, and `unread` tests cannot be read."""

    tests: list[ScoredTest]
    records: list[Record]
    unread: int
    found: Posterior | None
    told: Known | None

    @property
    def balls(self) -> int:
        """All balls that were read."""
        return sum(balls_in(record) for record in self.records)

    @property
    def shares(self) -> dict[float, Share]:
        """Putts holed by distance."""
        return {place: share for place, share in outcome.shares(self.records).items() if share.of}

    @property
    def holed(self) -> Share:
        """All putts holed of all that were tried at a hole."""
        return outcome.together(self.shares)

    @property
    def curves(self) -> bool:
        """Whether there is anything to say of putts holed."""
        return self.told is not None and self.told.both


def putter_of(tests: Sequence[ScoredTest]) -> Putter:
    """Tests in one likelihood."""
    read, unread = readable(tests)
    records = [record for record in read if balls_in(record)]
    if sum(balls_in(record) for record in records) < FEW:
        return Putter(list(tests), records, unread, None, None)
    found = posterior(records)
    return Putter(list(tests), records, unread, found, known(found, records))


def readable(tests: Iterable[ScoredTest]) -> tuple[list[Record], int]:
    """The records of all tests, and how many tests cannot be: a gate without a width, a ball that ran backwards."""
    records: list[Record] = []
    unread = 0
    for test in tests:
        try:
            records += stations_of(test)
        except ValueError:
            unread += 1
    return records, unread


def balls_in(record: Record) -> int:
    """The balls of a record."""
    if isinstance(record, Gated):
        return record.passed + record.push + record.pull + record.beside
    return len(record.leaves_m) + record.holed if isinstance(record, Leaves) else record.tried


def known(found: Posterior, records: Sequence[Record]) -> Known:
    """What may be told of a posterior; of few balls nothing is."""
    line = sum(balls_in(record) for record in records if at_hole(record) or isinstance(record, Gated))
    pace = sum(balls_in(record) for record in records if not isinstance(record, Gated))
    described = fits(records, found.fit.theta) >= POORLY
    told = outcome.known(found, apart=tells_apart(found), described=described)
    if line < FEW:
        told = replace(told, line=None, line_bias=None)
    return told if pace >= FEW else replace(told, pace=None, pace_bias=None)


def at_hole(record: Record) -> bool:
    """Whether there was a hole to miss."""
    return not isinstance(record, Gated) and (not isinstance(record, Leaves) or record.hole)


# --- What is gathered ---------------------------------------------------------------------------


def chips_of_late(student: Student, on: date, side: str) -> list[ScoredTest]:
    """The chipping tests that count, of the last weeks and from one side."""
    found = student.scored_tests.done().filter(design__area=Area.CHIPPING, side=side, day__range=(on - OF_LATE, on))
    return list(found.prefetch_related("hit"))


def before(test: ScoredTest) -> ScoredTest | None:
    """The test of the same design and side that came before."""
    same = test.student.scored_tests.done().filter(design=test.design, side=test.side, day__lte=test.day)
    earlier = same.exclude(day=test.day, pk__gte=test.pk).exclude(pk=test.pk)
    return earlier.prefetch_related("hit").order_by("-day", "-pk").first()


def latest(tests: Iterable[ScoredTest]) -> list[ScoredTest]:
    """The latest test of each design."""
    found: dict[int, ScoredTest] = {}
    for test in sorted(tests, key=lambda test: (test.day, test.pk), reverse=True):
        found.setdefault(test.design_id, test)
    return list(found.values())


def ear_of(academy: Academy, side: str) -> Ear:
    """How lengths and sides are told."""
    return Ear(cast(Literal["m", "ft"], academy.units), side)


def gate_distance(tests: Iterable[ScoredTest]) -> float:
    """Where this student's gate stood last."""
    gates = (ball.distance_m for test in tests if test.design.kind == Kind.GATE for ball in test.hit.all())
    return next(gates, GATE_AT_M)


def challenge_of(putter: Putter, share: float) -> Challenge | None:
    """The challenge; nothing where there is nothing to go by, or the model does not describe the putts."""
    if putter.found is None or putter.told is None or not putter.told.described:
        return None
    return outcome.challenge(putter.found, putter.told, gate_distance(putter.tests), share)


# --- Chips --------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Chips:
    """Some chips, and through whose putts they were reckoned."""

    tests: list[ScoredTest]
    leaves_m: list[float]
    holed: int
    own: bool
    found: Chipping | None
    more: Literal["chip", "putt"] | None


def chips_of(tests: Sequence[ScoredTest], putter: Putter) -> Chips:
    """What chips leave, through the student's own putts where they are known, else through published ones."""
    balls = [ball for test in tests for ball in test.hit.all()]
    leaves = [abs(ball.leave_m) for ball in balls if ball.leave_m is not None]
    holed = sum(ball.result == Ball.Result.HOLED for ball in balls)
    own = bool(putter.curves and putter.told and putter.told.described)
    putts: Rates = outcome.rates_of(putter.found.draws) if own and putter.found else outcome.published_rates
    found = chipping(leaves, holed, putts) if leaves or holed else None
    more = outcome.nearer_or_surer(leaves, putts) if len(leaves) >= FEW else None
    return Chips(list(tests), leaves, holed, own, found, more)


# --- Changes ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Since:
    """A test, the one before, and what changed; nothing where the two cannot be compared, with the reason."""

    test: ScoredTest
    before: ScoredTest
    what: str
    change: Change | None
    reason: str = ""


WHAT = {
    Kind.GATE: "Start-line error",
    Kind.LEAVES: "Pace error",
    Kind.LADDER: "Pace error",
    Kind.COUNTED: "Holed",
    Kind.CHIPS: "Half stop within",
}


def since(test: ScoredTest) -> Since | None:
    """What changed since the test before; nothing where there was none."""
    earlier = before(test)
    if earlier is None:
        return None
    what = WHAT[Kind(test.design.kind)]
    if min(len(test.hit.all()), len(earlier.hit.all())) < FEW:
        return Since(test, earlier, what, None, "too few balls to compare")
    change = change_of(test, earlier)
    return Since(test, earlier, what, change, "" if change else "set up differently, so not to be compared")


def change_of(test: ScoredTest, earlier: ScoredTest) -> Change | None:
    """The change of what this design measures."""
    if test.design.kind == Kind.CHIPS:
        return chips_change(test, earlier)
    if test.design.kind == Kind.COUNTED:
        return counted_change(test, earlier)
    told = (putter_of([each]).told for each in (test, earlier))
    now, then = ((each.line if test.design.kind == Kind.GATE else each.pace) if each else None for each in told)
    return outcome.spread_change(now, then) if now and then else None


def counted_change(test: ScoredTest, earlier: ScoredTest) -> Change | None:
    """The change of the share holed; nothing where the two were not of as many putts from the same distances."""
    now, then = (outcome.shares(readable([each])[0]) for each in (test, earlier))
    if {place: share.of for place, share in now.items()} != {place: share.of for place, share in then.items()}:
        return None
    return outcome.share_change(outcome.together(now), outcome.together(then))


def chips_change(test: ScoredTest, earlier: ScoredTest) -> Change | None:
    """The change of how near half of the chips stop; nothing where so many were holed that it is none."""
    nobody = putter_of([])
    now, then = (chips_of([each], nobody).found for each in (test, earlier))
    if not now or not then or min(now.leave_m.low, then.leave_m.low) <= 0:
        return None
    return outcome.spread_change(now.leave_m, then.leave_m)


# --- For the sheet and for a prescription -------------------------------------------------------


def marks_of(student: Student, on: date, share: float = USUAL) -> list[str]:
    """The success marks that fit a student today, two at most: how many of ten, from where or through which gate."""
    academy, side = Academy.current(), student.side(Area.PUTTING)
    found = challenge_of(putter_of(tests_of_late(student, on, side)), share)
    return (
        plain.marks(found, ear_of(academy, side), is_child=student.is_child(on, academy.child_until)) if found else []
    )
