"""The results of scored tests in a coach's sentences: the result, what limits it, and apart from them the interval."""

from collections.abc import Callable, Collection
from typing import Literal, NamedTuple

from drills.putting.chips import Chipping
from drills.putting.model_checks import is_wide
from drills.putting.posterior import Estimate
from drills.putting.predictions import Challenge, Change, ErrorKind, GainComparison, MarginalGain, PutterEstimate
from drills.putting.published import CLUB_PLAYERS, ERRORS
from drills.putting.read_and_aim import LineAtHole
from drills.putting.retest import CountRetest, RatioRetest
from drills.putting.sample_size import balls_to_tell
from drills.putting.unit_formatter import UnitFormatter, degrees, interval
from lessons.progress.intervals import Share
from lessons.progress.sentences import FEW, percent
from lessons.progress.words import counted

POORLY = "The model does not describe these putts well: go by the counts, not by the estimates."
WILD = "A few balls ran much further or shorter than the rest; this is the spread of the others."
NOT_KNOWN = "not known"
TOO_FEW = "Too few balls to say."
SAME_LESSON = "Both in one lesson: whether it lasts, the next arrival shows."
TEN = "Ten putts cannot tell a player who holes 5 of 10 from one who holes 6: that takes about {balls} putts each time."


class ResultLine(NamedTuple):
    """The name of a result, the result, what limits it, and its 95 % interval, which a page keeps apart."""

    name: str
    text: str
    note: str = ""
    certainty: str = ""


# --- Start line and pace ------------------------------------------------------------------------


def start_line_and_pace(
    estimate: PutterEstimate, units: UnitFormatter, *, includes_misreads: bool, without_misses: Collection[str] = ()
) -> list[ResultLine]:
    """The estimated errors and biases; `includes_misreads` where misses at a hole are among the balls.

    `without_misses` names the biases that no miss could have shown.
    """
    line = start_line(estimate, units, includes_misreads=includes_misreads)
    if estimate.has_line_and_pace and not estimate.is_separable:
        return [*(line if estimate.at_hole else []), NOT_SEPARABLE]
    at_hole = [line_at_hole(estimate.at_hole, units)] if estimate.at_hole else []
    lines = [*line, *at_hole, *pace(estimate, units)]
    return [no_miss(each) if each.text == NOT_NOTED and each.name in without_misses else each for each in lines]


def no_miss(line: ResultLine) -> ResultLine:
    """The same line where no ball missed: there was nothing to note."""
    return ResultLine(line.name, NO_MISS[line.name])


SIDE, LENGTH = "Right or left", "Short or long"
NOT_NOTED = "Not noted."
NO_MISS = {SIDE: "No ball missed, so neither side shows.", LENGTH: "No putt missed, so neither shows."}
NOT_SEPARABLE = ResultLine(
    "Start line and pace",
    "Too few to tell the two apart.",
    "The same makes and misses come from a good line with poor pace, or the other way round. "
    "A ball gate or measured leaves would tell.",
)


def start_line(estimate: PutterEstimate, units: UnitFormatter, *, includes_misreads: bool) -> list[ResultLine]:
    """The start-line error and its bias."""
    if estimate.line is None:
        return [ResultLine("Start line", "Not measured by these tests.", "A ball gate or counted putts would.")]
    text = f"Two putts of three start within {degrees(estimate.line.middle)} of their average line."
    note = "A misread counts as start line here." if includes_misreads else ""
    note = "Of the stroke alone, by the balls at the gate." if estimate.at_hole else note
    text = TOO_FEW if is_wide(estimate.line) else text
    lines = [ResultLine("Start line", text, note, interval(estimate.line, degrees))]
    bias = estimate.at_hole.stroke_bias if estimate.at_hole else estimate.line_bias
    if bias is None:
        return [*lines, ResultLine(SIDE, NOT_NOTED, "Note the side of each miss to know.")]
    return [*lines, line_bias(bias, units)]


READ = "Wilder than the stroke: the rest is read or aim."
SHIFTED = "On average {shift} of the stroke’s line: that is aim or read."
AGREES = "The stroke explains it: nothing speaks for a misread."
READ_NOT_KNOWN = "Cannot tell yet whether read or aim adds to the stroke."


def line_at_hole(at_hole: LineAtHole, units: UnitFormatter) -> ResultLine:
    """The line of putts at a hole, and whether it differs from that of the stroke by read or aim."""
    text = f"Two putts of three are within {degrees(at_hole.line.middle)} of their average line."
    text = TOO_FEW if is_wide(at_hole.line) else text
    said = [READ] if at_hole.is_wider else []
    if at_hole.shift_deg:
        said.append(SHIFTED.format(shift=angle(at_hole.shift_deg, units)))
    note = " ".join(said) or (AGREES if at_hole.agrees else READ_NOT_KNOWN)
    return ResultLine("Line at the hole", text, note, interval(at_hole.line, degrees))


def line_bias(bias: Estimate, units: UnitFormatter) -> ResultLine:
    """Pushes or pulls, where the interval excludes 0."""
    certainty = f"{angle(bias.low, units)} to {angle(bias.high, units)}"
    if not bias.sign:
        return ResultLine(SIDE, "Neither side is clear.", certainty=certainty)
    word = {1: "Pushes", -1: "Pulls"}[bias.sign]
    return ResultLine(SIDE, f"{word}: {angle(bias.middle, units)} on average.", certainty=certainty)


def angle(value: float, units: UnitFormatter) -> str:
    """An angle, push positive, with its side as the student sees it."""
    if round(value, 1) == 0:
        return degrees(0)
    return f"{degrees(abs(value))} {units.push_side if value > 0 else units.pull_side}"


def pace(estimate: PutterEstimate, units: UnitFormatter) -> list[ResultLine]:
    """The pace error and its bias."""
    if estimate.pace is None:
        return [ResultLine("Pace", "Not measured by these tests.", "Measured leaves would.")]
    share, from_six = percent(estimate.pace.middle), units.length(6 * estimate.pace.middle)
    text = f"Two putts of three stop within {share} of their average length: from {units.length(6)}, within {from_six}."
    text = TOO_FEW if is_wide(estimate.pace) else text
    lines = [ResultLine("Pace", text, WILD if estimate.has_wild_balls else "", interval(estimate.pace))]
    if estimate.pace_bias is None:
        return [*lines, ResultLine(LENGTH, NOT_NOTED, "Note of each miss whether it was short to know.")]
    return [*lines, pace_bias(estimate.pace_bias, units)]


def pace_bias(bias: Estimate, units: UnitFormatter) -> ResultLine:
    """Short or long of the intended length, where the interval excludes 0."""
    certainty = f"{short_or_long(bias.low)} to {short_or_long(bias.high)}"
    note = f"The length meant is {units.overshot} past a hole; at a line or in a zone it is where the test says."
    if not bias.sign:
        return ResultLine(LENGTH, "Neither is clear.", note, certainty)
    word = {1: "Long", -1: "Short"}[bias.sign]
    return ResultLine(LENGTH, f"{word} by {percent(abs(bias.middle))} on average.", note, certainty)


def short_or_long(value: float) -> str:
    """A share of the length, long positive."""
    if round(100 * value) == 0:
        return "0%"
    return f"{percent(abs(value))} {'long' if value > 0 else 'short'}"


class ErrorRow(NamedTuple):
    """One row of the table of errors."""

    whose: str
    line: str
    pace: str


def error_rows(estimate: PutterEstimate, whose: str) -> list[ErrorRow]:
    """A student's errors, then the published averages."""
    line = error_words(estimate.line, degrees) if estimate.is_separable else NOT_KNOWN
    share = error_words(estimate.pace) if estimate.is_separable else NOT_KNOWN
    published = [
        ErrorRow(f"published average for {each.whose}", degrees(each.line_deg), f"{100 * each.pace:g}%")
        for each in ERRORS
    ]
    return [ErrorRow(whose, line, share), *published]


def error_words(estimate: Estimate | None, form: Callable[[float], str] = percent) -> str:
    """An error, or why there is none."""
    if estimate is None:
        return NOT_KNOWN
    return "too few balls" if is_wide(estimate) else form(estimate.middle)


def error_intervals(estimate: PutterEstimate, whose: str) -> list[tuple[str, str]]:
    """The intervals of both errors, as far as they are known."""
    if not estimate.is_separable:
        return []
    line = [(f"Start line, {whose}", interval(estimate.line, degrees))] if estimate.line else []
    return [*line, *([(f"Pace, {whose}", interval(estimate.pace))] if estimate.pace else [])]


# --- What to work on, and what comes next -------------------------------------------------------

# What there is to gain, as a coach says it: a spread can be made smaller, a bias taken away.
LESS: dict[ErrorKind, str] = {
    "line": "a fifth less spread of the start line",
    "line_bias": "no bias to one side",
    "pace": "a fifth less spread of the pace",
    "pace_bias": "no bias of the length",
}
NAMES: dict[ErrorKind, str] = {
    "line": "the spread of the start line",
    "line_bias": "the bias to one side",
    "pace": "the spread of the pace",
    "pace_bias": "the bias of the length",
}
READ_LESS = "a fifth less spread of the line at the hole"
READ_NAME = "the spread of the line at the hole, from read or aim,"
CANNOT_TELL = "Cannot tell yet which of start line, side, pace and length is worth most."


def gains(gain: MarginalGain, units: UnitFormatter) -> list[ResultLine]:
    """Which of the four errors is worth most, near the hole and far from it."""
    near = f"{units.length(0.9144)} to {units.length(3.048)}"
    far = f"{units.length(6.096)} to {units.length(12.192)}"
    return [
        gain_line(f"Holed from {near}", gain.holed, "more holed of ten"),
        gain_line(f"Three-putts from {far}", gain.saved, "fewer in ten"),
    ]


def gain_line(name: str, gain: GainComparison, unit: str) -> ResultLine:
    """The error that leads, or that it cannot be told yet; then what each of the four brings."""
    less = LESS | {"line": READ_LESS} if gain.reads else LESS
    first, *rest = (f"{less[each.kind]} {each.brings.middle:.1f}" for each in gain.gains)
    note = f"With {first} {unit}; with {', with '.join(rest)}."
    intervals = (f"{less[each.kind]} {interval(each.brings, '{:.1f}'.format)}" for each in gain.gains)
    return ResultLine(name, worth_most(gain), note, "; ".join(intervals))


def worth_most(gain: GainComparison) -> str:
    """The error that leads, or between which two it cannot be told yet, or that it cannot be told."""
    names = NAMES | {"line": READ_NAME} if gain.reads else NAMES
    if gain.more:
        name = names[gain.more]
        return f"{name[0].upper()}{name[1:]} is worth most."
    if len(gain.candidates) == 2:
        one, other = (names[kind] for kind in gain.candidates)
        return f"Cannot tell yet whether {one} or {other} is worth most."
    return CANNOT_TELL


def of_ten(share: float) -> str:
    """A share as a target: 7 of 10."""
    return f"{10 * share:.0f} of 10"


def challenge_lines(challenge: Challenge, units: UnitFormatter) -> list[ResultLine]:
    """The distance and the gate for the next drill."""
    return [
        holing_line(challenge, units),
        *([gate_line(challenge, challenge.gate_m, units)] if challenge.gate_m else []),
    ]


def holing_line(challenge: Challenge, units: UnitFormatter) -> ResultLine:
    """The distance for putts to be holed."""
    if challenge.distance_m is None:
        note = "Counted putts from short distances would."
        return ResultLine("Putts to hole", "These tests cannot set a distance.", note)
    certainty = interval(challenge.distance_m, units.length)
    if not challenge.is_placed:
        return ResultLine("Putts to hole", "Too few balls to set a distance.", certainty=certainty)
    text = f"{of_ten(challenge.share)} from {units.length_in_steps(challenge.distance_m.middle)}."
    return ResultLine("Putts to hole", text, certainty=certainty)


def gate_line(challenge: Challenge, gate_m: float, units: UnitFormatter) -> ResultLine:
    """The gate of thin posts."""
    wide, distance = units.gate_width(gate_m), units.length(challenge.gate_distance_m)
    text = f"{of_ten(challenge.share)} through a gate {wide} wide, {distance} away."
    return ResultLine("Ball gate", text, "Measured between thin posts; a touched post is a miss.")


# --- Before a change is believed ----------------------------------------------------------------


def ten_putts() -> str:
    """What few balls cannot show."""
    return TEN.format(balls=balls_to_tell(0.5, 0.6))


def retest_share(name: str, share: Share, again: CountRetest | None, fifth: int | None, verb: str) -> ResultLine:
    """What the same test would have to show, where balls are counted; `fifth` balls show a fifth less error."""
    now = f"{share.seen} of {share.of} {verb}."
    if share.of < FEW:
        return ResultLine(name, now, "Too few balls to show a change.")
    if again is None:
        return ResultLine(name, now, f"No better score of so few balls could show a change.{a_fifth(fifth)}")
    wanted = f"The same test of {share.of} would have to show {again.needs} or more" if again.needs < share.of else ALL
    who = f"a player with about {again.typical} of {share.of} on average" if again.typical else HARDLY
    return ResultLine(name, now, f"{wanted.format(of=share.of)}; {who} gets there in 8 tests of 10.{a_fifth(fifth)}")


ALL, HARDLY = "The same test would have to show all {of}", "only a player who hardly ever misses"


def retest_spread(name: str, balls: int, again: RatioRetest | None, fifth: int | None, what: str) -> ResultLine:
    """The same where balls are measured."""
    now = f"{counted(balls, 'ball')} measured."
    if balls < FEW or again is None:
        return ResultLine(name, now, "Too few balls to show a change.")
    wanted = f"The same test of {balls} would have to show {percent(1 - again.needs)} less {what}"
    who = f"a player with {percent(1 - again.typical)} less gets there in 8 tests of 10."
    return ResultLine(name, now, f"{wanted}; {who}{a_fifth(fifth, 'A fifth less')}")


def a_fifth(balls: int | None, less: str = "A fifth less error") -> str:
    """How many balls it takes to show it."""
    return f" {less} takes about {balls} balls each time to show." if balls else ""


def change_line(name: str, change: Change, before_on: str, form: Callable[[float], str], what: str) -> ResultLine:
    """A figure now and before: better or worse only where the interval of the difference excludes 0."""
    figures = f"{what}: {form(change.before.middle)} on {before_on}, then {form(change.now.middle)}."
    if not change.verdict:
        return ResultLine(name, "No change that so few balls could show.", figures)
    low, high = sorted(abs(100 * value) for value in (change.difference.low, change.difference.high))
    by = f"a change by {low:.0f} to {high:.0f}{'%' if change.less_is_better else ' points'}"
    return ResultLine(name, f"{change.verdict.capitalize()}.", figures, by)


# --- Chips --------------------------------------------------------------------------------------

MORE_WORTH = {
    "chip": "Nearer chips are worth more than surer putts.",
    "putt": "Surer putts are worth more than nearer chips.",
    None: "Cannot tell yet whether nearer chips or surer putts are worth more.",
}


def whose_putts(own: bool) -> str:
    """Whose putts follow the chips."""
    return "this student’s own putts" if own else f"a published average for {CLUB_PLAYERS.whose}"


def chip_lines(
    chipping: Chipping, holed: int, more: Literal["chip", "putt"] | None, own: bool, units: UnitFormatter
) -> list[ResultLine]:
    """What chips leave, how often they are up and down, and what would save more strokes."""
    by = whose_putts(own)
    balls = f"{counted(chipping.balls, 'chip')}, {holed or 'none'} of them holed."
    if chipping.balls < FEW:
        return [ResultLine("Leaves", balls, "Too few to say more.")]
    leave, saves, strokes = chipping.leave_m, chipping.up_and_down, chipping.strokes
    half = f"Half of them stop within {units.length_in_steps(leave.middle)}."
    against = f"A chip a fifth nearer, against a fifth of the missed second putts holed, with {by}."
    return [
        ResultLine("Leaves", half, balls, interval(leave, units.length)),
        ResultLine("Up and down", f"Expected {percent(saves.middle)} of the time, with {by}.", "", interval(saves)),
        ResultLine(
            "Strokes to hole out",
            f"{strokes.middle:.1f} on average, the chip included.",
            f"With {by}.",
            interval(strokes, "{:.1f}".format),
        ),
        ResultLine("Chip or putt", MORE_WORTH[more], against),
    ]
