"""What tests say, as a student reads it: in plain words; a child reads one sentence and a game."""

from dataclasses import dataclass

import numpy as np

from drills.putting import predictions as outcome
from drills.putting import student_text as plain
from drills.putting.challenge import USUAL
from drills.putting.coach_text import Ear
from drills.putting.observations import Counted, Gated
from drills.putting.picture import LeavesPicture
from drills.scored_tests.results.estimates import Putter, balls_in, challenge_of
from drills.scored_tests.results.page import Reading, leaves, when
from lessons.progress.sentences import FEW
from lessons.wording import as_typed


@dataclass(frozen=True)
class StudentPage:
    """What a student reads; a child reads one sentence and a game."""

    is_child: bool
    sentence: str
    game: str
    how: list[str]
    next: list[str]
    work_on: list[str]
    getting: list[tuple[str, str]]
    leaves: LeavesPicture | None
    ear: Ear
    empty: bool


def student_page(reading: Reading) -> StudentPage:
    """Everything for a student."""
    ear, late = reading.ear, reading.late
    child = reading.student.is_child(reading.on, reading.academy.child_until)
    found, changes = challenge_of(late, USUAL), reading.changes
    better = next((each.change for each in changes if each.change and each.change.verdict == "better"), None)
    return StudentPage(
        is_child=child,
        sentence=plain.child(how(reading), better),
        game=plain.game(found, ear),
        how=how(reading),
        next=next_marks(reading, child=child),
        work_on=work_on(late),
        getting=[
            (as_typed(each.test.design.name, each.test.side), plain.getting(each.change, when(each.before)))
            for each in changes
            if each.change
        ],
        leaves=leaves(reading.putter, ear),
        ear=ear,
        empty=not reading.tests,
    )


def how(reading: Reading) -> list[str]:
    """How it goes: what was counted, and what is clear."""
    putter, chips = reading.putter, reading.chips.found
    told = plain.tendencies(putter.told, reading.ear) if putter.told else []
    words = [*counts(putter, reading.ear), *told, plain.chips(chips, reading.ear) if chips else ""]
    return [each for each in words if each]


def counts(putter: Putter, ear: Ear) -> list[str]:
    """Putts that were counted, and balls through a gate; those from far away were for pace and are not held up."""
    gates = [record for record in putter.records if isinstance(record, Gated)]
    passed, balls = sum(record.passed for record in gates), sum(balls_in(record) for record in gates)
    near = outcome.shares([record for record in putter.records if isinstance(record, Counted)])
    return [plain.holed(near, ear), plain.gated(passed, balls)]


def next_marks(reading: Reading, *, child: bool) -> list[str]:
    """What to try for next."""
    found, chips = challenge_of(reading.late, USUAL), reading.chips
    marks = plain.marks(found, reading.ear, is_child=child) if found else []
    if len(chips.leaves_m) + chips.holed >= FEW:
        place = float(np.quantile([*chips.leaves_m, *[0.0] * chips.holed], USUAL))
        marks.append(plain.chip_mark(place, USUAL, reading.ear, is_child=child))
    return marks


def work_on(late: Putter) -> list[str]:
    """What brings most, where the tests can say."""
    if not late.found or not late.told or not late.curves or not late.told.apart or not late.told.described:
        return []
    return plain.work_on(outcome.worth(late.found.draws))
