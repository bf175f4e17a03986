"""A page of what tests say, as its reader reads it: a coach in full, a student in plain words, a child as a game."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date

import numpy as np

from coachbook.accounts.models import Academy, Area, Student
from drills.models import ScoredTest
from drills.putting import coach_text as said
from drills.putting import limits, picture
from drills.putting import predictions as outcome
from drills.putting import student_text as plain
from drills.putting.baselines import GOLFER_90, TOUR, Published, make_rate
from drills.putting.challenge import USUAL
from drills.putting.coach_text import Ear, Errors, Fact
from drills.putting.observations import Leaves
from drills.putting.picture import CurvePicture, LeavesPicture, Pile
from drills.putting.posterior import Estimate
from drills.putting.sample_size import least_change, spread_balls_to_tell
from drills.scored_tests.observations import OF_LATE, tests_of_late
from drills.scored_tests.results.estimates import (
    SHARES,
    Chips,
    Kind,
    Putter,
    Since,
    at_hole,
    challenge_of,
    chips_of,
    chips_of_late,
    ear_of,
    latest,
    putter_of,
    since,
)
from lessons.progress.intervals import Share
from lessons.progress.sentences import percent, share_words
from lessons.progress.words import counted
from lessons.progress.words import on as day_words

ROWS_M = {"m": (1.0, 2.0, 3.0, 6.0), "ft": (0.9144, 1.524, 3.048, 6.096)}  # where a coach asks for a share anyway


@dataclass(frozen=True)
class Reading:
    """What one page is about: tests together or one alone, with all of late beside it."""

    student: Student
    academy: Academy
    on: date
    ear: Ear
    putter: Putter
    chips: Chips
    late: Putter
    share: float
    test: ScoredTest | None = None

    @property
    def tests(self) -> list[ScoredTest]:
        """The tests that it rests on."""
        return [*self.putter.tests, *self.chips.tests]

    @property
    def changes(self) -> list[Since]:
        """What changed since the test before, for the latest of each design."""
        return [found for test in latest(self.tests) if (found := since(test))]


def share_asked(query: Mapping[str, str]) -> float:
    """The share that a coach asks for, if it is one of those on offer."""
    asked = query.get("share", "")
    return next((share for share in SHARES if asked == f"{100 * share:.0f}"), USUAL)


def of_late(student: Student, academy: Academy, on: date, share: float) -> Reading:
    """All tests of late from the side that is played from now."""
    side = student.side(Area.PUTTING)
    putter = putter_of(tests_of_late(student, on, side))
    chips = chips_of(chips_of_late(student, on, student.side(Area.CHIPPING)), putter)
    return Reading(student, academy, on, ear_of(academy, side), putter, chips, putter, share)


def of_one(test: ScoredTest, academy: Academy, on: date, share: float) -> Reading:
    """One test, and all of late from the side from which it was played."""
    chips = test.design.kind == Kind.CHIPS
    side = test.student.side(Area.PUTTING) if chips else test.side
    late = putter_of(tests_of_late(test.student, on, side))
    alone = putter_of([] if chips else [test])
    found = chips_of([test] if chips else [], late)
    return Reading(test.student, academy, on, ear_of(academy, test.side), alone, found, late, share, test)


# --- A coach's page -----------------------------------------------------------------------------


@dataclass(frozen=True)
class CurveRow:
    """The share from one distance: estimated, counted, and published."""

    place: str
    estimated: str
    counted: str
    tour: str
    golfer: str


@dataclass(frozen=True)
class CoachPage:
    """What a coach reads, section by section; a section without anything to say is empty."""

    tests: list[tuple[ScoredTest, int]]
    rests: str
    greens: str
    problems: list[str]
    dispersion: list[Fact]
    errors: list[Errors]
    leaves: LeavesPicture | None
    curve: CurvePicture | None
    rows: list[CurveRow]
    costs: list[Fact]
    challenges: list[Fact]
    shares: list[tuple[str, int, bool]]
    alone: bool
    changes: list[Fact]
    retests: list[Fact]
    chips: list[Fact]
    chip_leaves: LeavesPicture | None
    ear: Ear
    ten_putts: str = field(default_factory=said.ten_putts)
    assumes: list[str] = field(default_factory=limits.assumed)
    days: int = OF_LATE.days


def coach_page(reading: Reading) -> CoachPage:
    """Everything for a coach."""
    putter, ear, changes = reading.putter, reading.ear, reading.changes
    at = picture.places(putter.shares)
    curve = outcome.make_curve(putter.found.draws, at) if putter.curves and putter.found else []
    return CoachPage(
        tests=[(test, len(test.hit.all())) for test in reading.tests],
        rests=limits.rests(len(reading.tests), putter.balls, reading.chips.found.balls if reading.chips.found else 0),
        greens=limits.greens([float(test.stimp_ft) if test.stimp_ft else None for test in reading.tests]),
        problems=problems(reading, changes),
        dispersion=dispersion(reading),
        errors=errors(reading),
        leaves=leaves(putter, ear),
        curve=picture.curve_picture(curve, at, putter.shares, ear.unit) if curve else None,
        rows=curve_rows(putter, ear) if curve else [],
        costs=costs(reading),
        challenges=challenges(reading),
        shares=[(said.of_ten(share), round(100 * share), share == reading.share) for share in SHARES],
        alone=reading.test is not None,
        changes=[changed(each, ear) for each in changes],
        retests=[retest(test, putter, ear) for test in latest(reading.tests) if test.hit.all()],
        chips=chip_facts(reading),
        chip_leaves=chip_leaves(reading.chips, ear),
        ear=ear,
    )


def problems(reading: Reading, changes: list[Since]) -> list[str]:
    """What stands above all else: why there is little to say, or that the model does not fit."""
    putter, found = reading.putter, []
    if putter.unread:
        found.append(
            f"{counted(putter.unread, 'test')} cannot be read: its gate has no width, or a ball ran backwards."
        )
    if putter.tests and putter.told is None:
        found.append(f"{counted(putter.balls, 'ball')} in all: too few to say more than the counts.")
    if putter.told and not putter.told.described:
        found.append(said.POORLY)
    if reading.test is None and any(is_within(each, putter) for each in changes):
        found.append(said.MIXED)
    return found


def is_within(found: Since, putter: Putter) -> bool:
    """Whether something changed between two tests that are read together."""
    return found.before in putter.tests and found.change is not None and found.change.verdict != ""


def dispersion(reading: Reading) -> list[Fact]:
    """Start line and pace of these tests."""
    putter = reading.putter
    if putter.told is None:
        return []
    mixed = any(at_hole(record) for record in putter.records)
    return said.dispersion(putter.told, reading.ear, mixed=mixed)


def errors(reading: Reading) -> list[Errors]:
    """The table of errors; a test alone has all of late below it."""
    told, late = reading.putter.told, reading.late.told
    if told is None:
        return []
    if reading.test is None:
        return said.beside(told, "these tests")
    together = said.beside(late, f"all of the last {OF_LATE.days} days")[:1] if late else []
    first, *published = said.beside(told, "this test")
    return [first, *together, *published]


def leaves(putter: Putter, ear: Ear) -> LeavesPicture | None:
    """Where balls stopped, from each distance."""
    measured = [record for record in putter.records if isinstance(record, Leaves)]
    stations = sorted({(record.distance_m, record.hole) for record in measured})
    piles = [pile_of(place, hole, measured, ear) for place, hole in stations]
    shown = [pile for pile in piles if pile.leaves_m]
    return picture.leaves_picture(shown, ear.unit, signed=True) if shown else None


def pile_of(place: float, hole: bool, measured: Iterable[Leaves], ear: Ear) -> Pile:
    """All leaves from one distance, to a hole or to a line."""
    same = [record for record in measured if (record.distance_m, record.hole) == (place, hole)]
    every, holed = tuple(leave for record in same for leave in record.leaves_m), sum(record.holed for record in same)
    return Pile(plain.station(place, len(every), holed, ear, has_hole=hole), every, holed, hole)


def curve_rows(putter: Putter, ear: Ear) -> list[CurveRow]:
    """The curve in numbers, at the distances that were counted and at some that a coach asks for."""
    shares = putter.shares
    places = sorted({*(round(place, 4) for place in shares), *ROWS_M[ear.unit]})
    estimates = outcome.make_curve(putter.found.draws, places) if putter.found else []
    rounded = {round(place, 4): share for place, share in shares.items()}
    return [curve_row(place, each, rounded.get(place), ear) for place, each in zip(places, estimates, strict=True)]


def curve_row(place: float, estimate: Estimate, share: Share | None, ear: Ear) -> CurveRow:
    """One distance of it."""
    return CurveRow(
        place=ear.length(place),
        estimated=f"{percent(estimate.middle)} ({100 * estimate.low:.0f} to {percent(estimate.high)})",
        counted=share_words(share) if share else "",
        tour=printed(TOUR, place),
        golfer=printed(GOLFER_90, place),
    )


def printed(published: Published, place: float) -> str:
    """A published share, only where it is printed."""
    feet = list(published.percent_by_feet)
    within = feet[0] - 0.01 <= place / 0.3048 <= feet[-1] + 0.01
    return percent(float(make_rate(published, np.array([place]))[0])) if within else ""


def costs(reading: Reading) -> list[Fact]:
    """Which of start line and pace is worth more, where both are known."""
    putter = reading.putter
    if not putter.found or not putter.told or not putter.curves:
        return []
    if not putter.told.apart or not putter.told.described:
        return [Fact("Start line or pace", said.CANNOT)]
    return said.costs(outcome.worth(putter.found.draws), reading.ear)


def challenges(reading: Reading) -> list[Fact]:
    """The next drill's mark, by all tests of late; not beside chips alone."""
    if reading.test and not reading.putter.tests:
        return []
    found = challenge_of(reading.late, reading.share)
    return said.challenges(found, reading.ear) if found else []


def chip_facts(reading: Reading) -> list[Fact]:
    """What chips say."""
    chips = reading.chips
    return said.chips(chips.found, chips.holed, chips.more, chips.own, reading.ear) if chips.found else []


def chip_leaves(chips: Chips, ear: Ear) -> LeavesPicture | None:
    """How far from the hole chips stopped."""
    piles = [Pile("Chips", tuple(chips.leaves_m), chips.holed)] if chips.leaves_m else []
    return picture.leaves_picture(piles, ear.unit, signed=False) if piles else None


# --- Changes ------------------------------------------------------------------------------------


def changed(found: Since, ear: Ear) -> Fact:
    """What changed since the test before."""
    name, day = str(found.test.design), when(found.before)
    if found.change is None:
        return Fact(name, f"{found.reason.capitalize()}.", f"Test before: {day}.")
    form = {Kind.GATE: said.degrees, Kind.CHIPS: ear.length}.get(Kind(found.test.design.kind), percent)
    told = said.changed(name, found.change, day, form, found.what)
    return told._replace(limit=f"{told.limit} {said.SAME_LESSON}") if in_one_lesson(found) else told


def when(test: ScoredTest) -> str:
    """The day of a test, and whether it was at arrival or departure."""
    return f"{day_words(test.day)} ({test.get_moment_display().lower()})" if test.lesson_id else day_words(test.day)


def in_one_lesson(found: Since) -> bool:
    """Whether both tests were of one lesson: then the later one says nothing of what lasts."""
    return found.test.lesson_id is not None and found.test.lesson_id == found.before.lesson_id


def retest(test: ScoredTest, putter: Putter, ear: Ear) -> Fact:
    """What the same test again would have to show."""
    kind, name, balls = Kind(test.design.kind), str(test.design), len(test.hit.all())
    if kind in (Kind.LEAVES, Kind.LADDER, Kind.CHIPS):
        measured = sum(ball.leave_m is not None for ball in test.hit.all())
        what = "of the distance left" if kind == Kind.CHIPS else "pace error"
        return said.retest_spread(name, measured, outcome.least_ratio(measured), spread_balls_to_tell(0.8), what)
    good = sum(ball.result in (ball.Result.HOLED, ball.Result.THROUGH) for ball in test.hit.all())
    share = Share(good, balls)
    fifth = outcome.gate_balls_for_a_fifth(share.rate) if kind == Kind.GATE else counted_fifth(test, putter)
    verb = "through" if kind == Kind.GATE else "holed"
    return said.retest_share(name, share, least_change(share.rate, balls), fifth, verb)


def counted_fifth(test: ScoredTest, putter: Putter) -> int | None:
    """How many putts a fifth less error takes, where there is a putter to go by."""
    places = sorted({ball.distance_m for ball in test.hit.all()})
    return outcome.putts_for_a_fifth(putter.found.draws, places) if putter.found and putter.curves else None
