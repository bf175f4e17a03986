"""The results page of a coach, section by section; the 95 % intervals of all sections stand together at its end."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from drills.models import Ball, ScoredTest
from drills.putting import assumptions, coach_text, picture, predictions, student_text
from drills.putting.challenge import USUAL
from drills.putting.coach_text import ErrorRow, ResultLine
from drills.putting.observations import Gated, Leaves
from drills.putting.picture import CurvePicture, LeaveGroup, LeavesPicture
from drills.putting.posterior import Estimate
from drills.putting.predictions import FOUR_FIFTHS, Challenge
from drills.putting.published import CLUB_PLAYERS, ERRORS
from drills.putting.retest import CountRetest, gate_retest, ratio_retest, share_retest
from drills.putting.sample_size import spread_balls_to_tell
from drills.putting.unit_formatter import UnitFormatter, degrees
from drills.scored_tests.observations import RECENT_PERIOD
from drills.scored_tests.results.curve_table import CurveRow, curve_rows
from drills.scored_tests.results.estimates import (
    SHARES,
    ChippingResult,
    Comparison,
    Kind,
    PuttingResult,
    challenge_of,
    is_at_hole,
    median_leave,
    readable,
    spread_of,
)
from drills.scored_tests.results.gather import Results, day_and_moment, moment_of
from drills.scored_tests.results.previous import latest_of_each_design
from drills.scored_tests.results.summary import Summary, summary_of
from lessons.progress.intervals import Share
from lessons.progress.sentences import percent


@dataclass(frozen=True)
class CoachPage:
    """What a coach reads; a section with nothing to say is empty. `certainty` pairs a result with its 95 % interval."""

    summary: Summary
    tests: list[tuple[ScoredTest, int]]
    tests_used: str
    green_speeds: str
    dispersion: list[ResultLine]
    errors: list[ErrorRow]
    published: str
    leaves: LeavesPicture | None
    curve: CurvePicture | None
    rows: list[CurveRow]
    gains: list[ResultLine]
    challenges: list[ResultLine]
    shares: list[tuple[str, int, bool]]
    is_share_asked: bool
    is_single_test: bool
    changes: list[ResultLine]
    retests: list[ResultLine]
    chips: list[ResultLine]
    chip_leaves: LeavesPicture | None
    certainty: list[tuple[str, str]]
    assumptions: list[str]
    units: UnitFormatter
    ten_putts: str = field(default_factory=coach_text.ten_putts)
    days: int = RECENT_PERIOD.days


def coach_page(results: Results) -> CoachPage:
    """Everything for a coach."""
    putting, units, comparisons = results.putting, results.units, results.comparisons
    rows, dispersion, challenge = curve_rows(putting, units), dispersion_of(results), challenge_for(results)
    challenges = coach_text.challenge_lines(challenge, units) if challenge else []
    chips, changes = chips_of(results), [change_line(each, units) for each in comparisons]
    chip_balls = results.chips.chipping.balls if results.chips.chipping else 0
    return CoachPage(
        summary=summary_of(results, challenge),
        tests=[(test, len(test.balls.all())) for test in results.tests],
        tests_used=assumptions.tests_used(len(results.tests), putting.balls, chip_balls),
        green_speeds=assumptions.green_speeds(
            [float(test.stimp_ft) if test.stimp_ft else None for test in results.tests]
        ),
        dispersion=dispersion,
        errors=errors_of(results),
        published=assumptions.published_curve(ERRORS[1], CLUB_PLAYERS, units),
        leaves=putt_leaves(putting, units),
        curve=curve_of(putting, units),
        rows=rows,
        gains=gains_of(results),
        challenges=challenges,
        shares=[(coach_text.of_ten(share), round(100 * share), share == results.share) for share in SHARES],
        is_share_asked=results.share != USUAL,
        is_single_test=results.test is not None,
        changes=changes,
        retests=retests(results),
        chips=chips,
        chip_leaves=chip_leaves(results.chips, units),
        certainty=[
            *intervals_of(dispersion),
            *recent_intervals(results),
            *intervals_of(challenges),
            *((f"Holed from {row.distance}", row.interval) for row in rows),
            *chip_intervals(results.chips, chips),
            *((f"Change, {name}", interval) for name, interval in intervals_of(changes)),
        ],
        assumptions=assumptions.assumptions(units),
        units=units,
    )


# --- Sections -----------------------------------------------------------------------------------


def intervals_of(lines: Iterable[ResultLine]) -> list[tuple[str, str]]:
    """The names and intervals of the lines that have one."""
    return [(line.name, line.certainty) for line in lines if line.certainty]


def recent_intervals(results: Results) -> list[tuple[str, str]]:
    """Beside a single test, the intervals of the errors of all recent tests."""
    if results.test is None or results.putting.estimate is None or results.recent.estimate is None:
        return []
    return coach_text.error_intervals(results.recent.estimate, all_recent())


def all_recent() -> str:
    """How all recent tests are named beside a single one."""
    return f"all of the last {RECENT_PERIOD.days} days"


def dispersion_of(results: Results) -> list[ResultLine]:
    """Start line and pace of these tests."""
    putting = results.putting
    if putting.estimate is None:
        return []
    return coach_text.start_line_and_pace(
        putting.estimate,
        results.units,
        includes_misreads=any(is_at_hole(observation) for observation in putting.observations),
        without_misses=without_misses(putting.tests),
    )


def without_misses(tests: Iterable[ScoredTest]) -> list[str]:
    """The biases that no miss could have shown: at a gate the side, at a hole also the length."""
    became = {ball.result for test in tests for ball in test.balls.all()}
    missed, beside = Ball.Result.MISSED in became, Ball.Result.BESIDE in became
    return [*([coach_text.LENGTH] if not missed else []), *([coach_text.SIDE] if not (missed or beside) else [])]


def errors_of(results: Results) -> list[ErrorRow]:
    """The table of errors; below a single test, all recent tests."""
    estimate, recent = results.putting.estimate, results.recent.estimate
    if estimate is None:
        return []
    if results.test is None:
        return coach_text.error_rows(estimate, "these tests")
    together = coach_text.error_rows(recent, all_recent())[:1] if recent else []
    first, *published = coach_text.error_rows(estimate, "this test")
    return [first, *together, *published]


def gains_of(results: Results) -> list[ResultLine]:
    """What each of the errors is worth, where all are known."""
    if results.gain:
        return coach_text.gains(results.gain, results.units)
    return [ResultLine("Start line or pace", coach_text.CANNOT_TELL)] if results.putting.predicts_holed else []


def challenge_for(results: Results) -> Challenge | None:
    """What is to be met so often, by all recent tests; None beside chips alone."""
    if results.test and not results.putting.tests:
        return None
    return challenge_of(results.recent, results.share)


def chips_of(results: Results) -> list[ResultLine]:
    """The chips."""
    chips = results.chips
    if not chips.chipping:
        return []
    return coach_text.chip_lines(chips.chipping, chips.holed, chips.more, chips.is_own, results.units)


def chip_intervals(chips: ChippingResult, lines: Iterable[ResultLine]) -> list[tuple[str, str]]:
    """The intervals of the chips; those of what follows them say whose putts that takes."""
    by = f", with {coach_text.whose_putts(chips.is_own)}"
    return [(name, f"{interval}{by if name in AFTER_CHIPS else ''}") for name, interval in intervals_of(lines)]


AFTER_CHIPS = ("Up and down", "Strokes to hole out")


# --- Pictures -----------------------------------------------------------------------------------


def curve_of(putting: PuttingResult, units: UnitFormatter) -> CurvePicture | None:
    """Putts holed by distance, where they can be predicted."""
    if not putting.predicts_holed or putting.posterior is None:
        return None
    counts = putting.holed_by_distance
    distances = picture.places(counts)
    curve = predictions.make_curve(putting.posterior.draws, distances)
    return picture.curve_picture(curve, distances, counts, units.unit)


def putt_leaves(putting: PuttingResult, units: UnitFormatter) -> LeavesPicture | None:
    """Where putts stopped, from each distance."""
    measured = [observation for observation in putting.observations if isinstance(observation, Leaves)]
    stations = sorted({(observation.distance_m, observation.hole) for observation in measured})
    groups = [leave_group(distance, hole, measured, units) for distance, hole in stations]
    drawn = [group for group in groups if group.leaves_m]
    return picture.leaves_picture(drawn, units.unit, signed=True) if drawn else None


def leave_group(distance_m: float, hole: bool, measured: Sequence[Leaves], units: UnitFormatter) -> LeaveGroup:
    """All leaves from one distance, to a hole or to a line."""
    same = [each for each in measured if (each.distance_m, each.hole) == (distance_m, hole)]
    leaves, holed = tuple(leave for each in same for leave in each.leaves_m), sum(each.holed for each in same)
    label = student_text.station(distance_m, len(leaves), holed, units, has_hole=hole)
    return LeaveGroup(label, leaves, holed, hole)


def chip_leaves(chips: ChippingResult, units: UnitFormatter) -> LeavesPicture | None:
    """How far from the hole chips stopped."""
    groups = [LeaveGroup("Chips", tuple(chips.leaves_m), chips.holed)] if chips.leaves_m else []
    return picture.leaves_picture(groups, units.unit, signed=False) if groups else None


# --- Changes ------------------------------------------------------------------------------------


def change_line(comparison: Comparison, units: UnitFormatter) -> ResultLine:
    """What changed since the previous test."""
    name, day = f"{comparison.test.design}{moment_of(comparison.test)}", day_and_moment(comparison.before)
    if comparison.change is None:
        return ResultLine(name, f"{comparison.reason.capitalize()}.", f"Test before: {day}.")
    form = {Kind.GATE: degrees, Kind.CHIPS: units.length}.get(Kind(comparison.test.design.kind), percent)
    line = coach_text.change_line(name, comparison.change, day, form, comparison.what)
    return line._replace(note=f"{line.note} {coach_text.SAME_LESSON}") if is_in_one_lesson(comparison) else line


def is_in_one_lesson(comparison: Comparison) -> bool:
    """Whether both tests were in one lesson: then the later one cannot show what lasts."""
    lesson = comparison.test.lesson_id
    return lesson is not None and lesson == comparison.before.lesson_id


def retests(results: Results) -> list[ResultLine]:
    """What the same test again would have to show, for the latest test of each design."""
    compared = {each.test.pk: each.change.now for each in results.comparisons if each.change}
    latest = [test for test in latest_of_each_design(results.shows_what_lasts) if test.balls.all()]
    return [retest(test, results.putting, compared.get(test.pk)) for test in latest]


def retest(test: ScoredTest, putting: PuttingResult, now: Estimate | None) -> ResultLine:
    """What the same test again would have to show; `now` is what it measured, where that is known already."""
    kind, name = Kind(test.design.kind), str(test.design)
    if kind in (Kind.LEAVES, Kind.LADDER, Kind.CHIPS):
        return retest_spread(test, name, now)
    good = sum(ball.result in (Ball.Result.HOLED, Ball.Result.THROUGH) for ball in test.balls.all())
    share = Share(good, len(test.balls.all()))
    if kind == Kind.GATE:
        again, fifth = gate_retest_of(test), predictions.gate_balls_for_a_fifth(share.rate)
        return coach_text.retest_share(name, share, again, fifth, "through")
    return coach_text.retest_share(name, share, share_retest(share), putts_for_a_fifth(test, putting), "holed")


def retest_spread(test: ScoredTest, name: str, now: Estimate | None) -> ResultLine:
    """What the same test would have to show where balls are measured."""
    is_chipping = test.design.kind == Kind.CHIPS
    measured = sum(ball.leave_m is not None for ball in test.balls.all())
    now = now or (median_leave(test) if is_chipping else spread_of(test))
    again = ratio_retest(now) if now and now.low > 0 else None
    what = "of the distance left" if is_chipping else "pace error"
    return coach_text.retest_spread(name, measured, again, spread_balls_to_tell(FOUR_FIFTHS), what)


def gate_retest_of(test: ScoredTest) -> CountRetest | None:
    """The retest of a gate that stood at one distance."""
    gates = [each for each in readable([test])[0] if isinstance(each, Gated)]
    return gate_retest(gates[0]) if len(gates) == 1 else None


def putts_for_a_fifth(test: ScoredTest, putting: PuttingResult) -> int | None:
    """How many putts show a fifth less error, where putts holed can be predicted."""
    distances = sorted({ball.distance_m for ball in test.balls.all()})
    if not putting.posterior or not putting.predicts_holed:
        return None
    return predictions.putts_for_a_fifth(putting.posterior.draws, distances)
