"""What tests say, in a coach's sentences: each with its limit, which is written as large as the result."""

from collections.abc import Callable
from dataclasses import dataclass
from math import ceil
from typing import Literal, NamedTuple

from drills.putting.baselines import ERRORS
from drills.putting.chips import Chipping
from drills.putting.model_checks import is_wide
from drills.putting.posterior import Estimate
from drills.putting.predictions import Better, Challenge, Change, Known, Part, Worth
from drills.putting.sample_size import balls_to_tell
from drills.putting.units import from_metres
from lessons.progress.intervals import Share
from lessons.progress.sentences import FEW, percent
from lessons.progress.words import counted
from lessons.wording import render

HALVES = {0.0: "", 0.5: "½"}
POORLY = "The model does not describe these putts well: go by the counts, not by the estimates."
MIXED = "Something changed within these weeks: the estimates mix before and after. Read the latest tests alone, too."
NOT_KNOWN = "not known"
TOO_FEW = "Too few balls to say."
SAME_LESSON = "Both in one lesson: whether it lasts, the next arrival shows."
TEN = "Ten putts cannot tell 50% from 60%: that takes about {balls} each time."


class Fact(NamedTuple):
    """What something is about, the result, and its limit."""

    name: str
    words: str
    limit: str = ""


@dataclass(frozen=True)
class Ear:
    """Who listens: the unit that the academy thinks in, and the side that the balls were played from."""

    unit: Literal["m", "ft"]
    side: str

    @property
    def push(self) -> str:
        """Where a push goes."""
        return render("{open}", self.side)

    @property
    def pull(self) -> str:
        """Where a pull goes."""
        return render("{closed}", self.side)

    def length(self, metres: float) -> str:
        """A length in the unit of the academy."""
        if self.unit == "ft":
            feet = from_metres(metres, "ft")
            return f"{round(2 * feet) / 2 if feet < 10 else round(feet):g} ft"
        return f"{round(metres, 1 if metres < 10 else 0):g} m"

    def width(self, metres: float) -> str:
        """A gate's width, in centimetres to the half that a hand can set."""
        return f"{from_metres(metres, 'in'):.1f} in" if self.unit == "ft" else f"{round(200 * metres) / 2:g} cm"

    def walked(self, metres: float) -> str:
        """A length with its steps."""
        return f"{self.length(metres)} ({steps(metres)})"


def steps(metres: float) -> str:
    """A length in half steps."""
    halves = round(2 * from_metres(metres, "pace"))
    if halves < 2:
        return "half a step" if halves else "less than half a step"
    return f"{halves // 2}{HALVES[halves % 2 / 2]} {'step' if halves == 2 else 'steps'}"


def degrees(value: float) -> str:
    """An angle with one decimal."""
    return f"{value:.1f}°"


def interval(found: Estimate, form: Callable[[float], str] = percent) -> str:
    """Where 95 % of it lies."""
    return f"95% interval {form(found.low)} to {form(found.high)}"


def valued(found: Estimate, form: Callable[[float], str] = percent) -> str:
    """The middle and its interval."""
    return f"{form(found.middle)} ({interval(found, form)})"


# --- Dispersion ---------------------------------------------------------------------------------


def dispersion(told: Known, ear: Ear, *, mixed: bool) -> list[Fact]:
    """What the tests say of start line and pace; `mixed` where misses at a hole speak of the start line, too."""
    if told.both and not told.apart:
        return [TOGETHER]
    return [*start_line(told, ear, mixed=mixed), *pace(told, ear)]


TOGETHER = Fact(
    "Start line and pace",
    "Too few to tell the two apart.",
    "The same makes and misses come from a good line with poor pace, or the other way round. "
    "A ball gate or measured leaves would tell.",
)


def start_line(told: Known, ear: Ear, *, mixed: bool) -> list[Fact]:
    """The start line and its side."""
    if told.line is None:
        return [Fact("Start line", "Not measured by these tests.", "A ball gate or counted putts would.")]
    words = f"Two putts of three start within {degrees(told.line.middle)} of their average line."
    words, limit = TOO_FEW if is_wide(told.line) else words, f"{interval(told.line, degrees)}."
    facts = [Fact("Start line", words, f"{limit} Misses mix read with start line." if mixed else limit)]
    if told.line_bias is None:
        return [*facts, Fact("Right or left", "Not noted.", "Note the side of each miss to know.")]
    return [*facts, sided(told.line_bias, ear)]


def sided(bias: Estimate, ear: Ear) -> Fact:
    """Pushes or pulls, where the interval leaves none of it out."""
    limit = f"95% interval {angle(bias.low, ear)} to {angle(bias.high, ear)}."
    if bias.low <= 0 <= bias.high:
        return Fact("Right or left", "Neither side is clear.", limit)
    word = "Pushes" if bias.middle > 0 else "Pulls"
    return Fact("Right or left", f"{word}: {angle(bias.middle, ear)} on average.", limit)


def angle(value: float, ear: Ear) -> str:
    """An angle with its side as the student sees it."""
    if round(value, 1) == 0:
        return degrees(0)
    return f"{degrees(abs(value))} {ear.push if value > 0 else ear.pull}"


def pace(told: Known, ear: Ear) -> list[Fact]:
    """The pace and its bias."""
    if told.pace is None:
        return [Fact("Pace", "Not measured by these tests.", "Measured leaves would.")]
    share, from_six = percent(told.pace.middle), ear.length(6 * told.pace.middle)
    words = f"Two putts of three stop within {share} of the length meant: from {ear.length(6)}, within {from_six}."
    facts = [Fact("Pace", TOO_FEW if is_wide(told.pace) else words, f"{interval(told.pace)}.")]
    if told.pace_bias is None:
        return [*facts, Fact("Short or long", "Not noted.", "Note of each miss whether it was short to know.")]
    return [*facts, long(told.pace_bias)]


def long(bias: Estimate) -> Fact:
    """Short or long, where the interval leaves none of it out. Meant is one foot past the hole."""
    limit = f"95% interval {lengthwise(bias.low)} to {lengthwise(bias.high)}; meant is one foot past the hole."
    if bias.low <= 0 <= bias.high:
        return Fact("Short or long", "Neither is clear.", limit)
    word = "Long" if bias.middle > 0 else "Short"
    return Fact("Short or long", f"{word} by {percent(abs(bias.middle))} of the length on average.", limit)


def lengthwise(value: float) -> str:
    """A share of the length, short or long."""
    if round(100 * value) == 0:
        return "0%"
    return f"{percent(abs(value))} {'long' if value > 0 else 'short'}"


class Errors(NamedTuple):
    """One row of the table of errors."""

    whose: str
    line: str
    pace: str


def beside(told: Known, whose: str) -> list[Errors]:
    """A student's errors beside the published ones; those that are not known say so."""
    line = surely(told.line, degrees) if told.apart else NOT_KNOWN
    share = surely(told.pace) if told.apart else NOT_KNOWN
    published = [Errors(each.whose, degrees(each.line_deg), f"{100 * each.pace:g}%") for each in ERRORS]
    return [Errors(whose, line, share), *published]


def surely(found: Estimate | None, form: Callable[[float], str] = percent) -> str:
    """An estimate with its interval, or why there is none."""
    if found is None:
        return NOT_KNOWN
    return f"too few balls ({interval(found, form)})" if is_wide(found) else valued(found, form)


# --- What it costs, and what comes next ---------------------------------------------------------

WORTH_MORE: dict[Part, str] = {"line": "Start line is worth more", "pace": "Pace is worth more"}
ERROR: dict[Part, str] = {"line": "start-line", "pace": "pace"}
CANNOT = "These tests cannot say which of start line and pace is worth more."


def costs(found: Worth, ear: Ear) -> list[Fact]:
    """Which of the two is worth more, near the hole and far from it."""
    near = f"{ear.length(0.9144)} to {ear.length(3.048)}"
    far = f"{ear.length(6.096)} to {ear.length(12.192)}"
    return [
        weighed(f"Holed from {near}", found.holed, "more holed of ten"),
        weighed(f"Three-putts from {far}", found.saved, "fewer in ten"),
    ]


def weighed(name: str, found: Better, unit: str) -> Fact:
    """The one that is worth more and both gains; or that it cannot be said."""
    if found.more is None:
        return Fact(name, CANNOT)
    gains = {"line": found.line, "pace": found.pace}
    rest: Part = "pace" if found.more == "line" else "line"
    more = f"A fifth less {ERROR[found.more]} error: {gains[found.more]:.1f} {unit}"
    return Fact(name, f"{WORTH_MORE[found.more]}.", f"{more}; of {ERROR[rest]} error: {gains[rest]:.1f}.")


def of_ten(share: float) -> str:
    """A share as a mark: 7 of 10."""
    return f"{10 * share:.0f} of 10"


def challenges(found: Challenge, ear: Ear) -> list[Fact]:
    """The distance and the gate for the next drill."""
    return [holing(found, ear), *([gate(found, ear)] if found.gate_m else [])]


def holing(found: Challenge, ear: Ear) -> Fact:
    """The distance for putts to be holed."""
    if found.distance_m is None:
        return Fact("Putts to hole", "These tests cannot place it.", "Counted putts from short distances would.")
    span = interval(found.distance_m, ear.length)
    if not found.placed:
        return Fact("Putts to hole", "Too few balls to place it.", f"The {span}.")
    return Fact("Putts to hole", f"{of_ten(found.share)} from {ear.walked(found.distance_m.middle)}.", f"{span}.")


def gate(found: Challenge, ear: Ear) -> Fact:
    """The gate of thin posts."""
    wide, away = ear.width(found.gate_m or 0), ear.length(found.gate_distance_m)
    words = f"{of_ten(found.share)} through a gate {wide} wide, {away} away."
    return Fact("Ball gate", words, "Measured between thin posts; a touched post is a miss.")


# --- Before a change is believed ----------------------------------------------------------------


def ten_putts() -> str:
    """What few balls cannot show."""
    return TEN.format(balls=balls_to_tell(0.5, 0.6))


def retest_share(name: str, share: Share, least: float | None, fifth: int | None, verb: str) -> Fact:
    """What a retest of the same number of balls would have to show, where they are counted."""
    now = f"{share.seen} of {share.of} {verb}."
    if share.of < FEW:
        return Fact(name, now, "Too few balls to tell a change by.")
    if least is None:
        return Fact(name, now, f"No better score of so few balls could show a change.{a_fifth(fifth)}")
    wanted = f"A retest of {share.of} would have to show about {ceil(least * share.of)}."
    return Fact(name, now, f"{wanted}{a_fifth(fifth)}")


def retest_spread(name: str, balls: int, ratio: float | None, fifth: int | None, what: str) -> Fact:
    """The same where they are measured."""
    now = f"{counted(balls, 'ball')} measured."
    if balls < FEW or ratio is None:
        return Fact(name, now, "Too few to tell a change by.")
    wanted = f"A retest of {balls} would have to show {percent(1 - ratio)} less {what}."
    return Fact(name, now, f"{wanted}{a_fifth(fifth, 'A fifth less')}")


def a_fifth(balls: int | None, less: str = "A fifth less error") -> str:
    """How many balls it takes to show it."""
    return f" {less} takes about {balls} balls each time." if balls else ""


def changed(name: str, found: Change, before_on: str, form: Callable[[float], str], what: str) -> Fact:
    """A figure now and before: better or worse only where the interval leaves no change out."""
    figures = f"{what}: {form(found.before.middle)} on {before_on}, then {form(found.now.middle)}"
    if not found.verdict:
        return Fact(name, "No change that so few balls could show.", f"{figures}.")
    low, high = sorted(abs(100 * value) for value in (found.apart.low, found.apart.high))
    by = f"{low:.0f} to {high:.0f}{'% of it' if found.less_is_better else ' points'}"
    return Fact(name, f"{found.verdict.capitalize()}.", f"{figures}; 95% interval of the change {by}.")


# --- Chips --------------------------------------------------------------------------------------

MORE_WORTH = {
    "chip": "Nearer chips are worth more than surer putts.",
    "putt": "Surer putts are worth more than nearer chips.",
    None: "These tests cannot say whether nearer chips or surer putts are worth more.",
}


def chips(found: Chipping, holed: int, more: Literal["chip", "putt"] | None, own: bool, ear: Ear) -> list[Fact]:
    """What chips leave and what that costs."""
    through = "through this student’s own putts" if own else "through published putts of golfers who score about 90"
    counted_balls = f"{counted(found.balls, 'chip')}, {holed or 'none'} of them holed."
    if found.balls < FEW:
        return [Fact("Leaves", counted_balls, "Too few to say more.")]
    return [
        Fact(
            "Leaves",
            f"Half of them stop within {ear.walked(found.leave_m.middle)}.",
            f"{counted_balls} {interval(found.leave_m, ear.length)}.",
        ),
        Fact(
            "Up and down",
            f"Expected {percent(found.up_and_down.middle)} of the time, {through}.",
            f"{interval(found.up_and_down)}.",
        ),
        Fact(
            "Strokes to hole out",
            f"{found.strokes.middle:.1f} on average, the chip counted.",
            f"95% interval {found.strokes.low:.1f} to {found.strokes.high:.1f}.",
        ),
        Fact(
            "Chip or putt", MORE_WORTH[more], "A chip a fifth nearer, against a fifth of the missed second putts holed."
        ),
    ]
