"""The results of scored tests as a student reads them: what to do next and how it is going, in plain words."""

from collections.abc import Mapping, Sequence

from drills.putting.chips import Chipping
from drills.putting.coach_text import of_ten
from drills.putting.predictions import Challenge, Change, ErrorKind, MarginalGain, PutterEstimate, total_share
from drills.putting.unit_formatter import UnitFormatter, steps
from lessons.progress.intervals import Share
from lessons.progress.sentences import FEW
from lessons.progress.words import counted

WORK_ON: dict[ErrorKind, str] = {
    "line": "Where the ball starts",
    "line_bias": "Where the ball starts",
    "pace": "How far the ball rolls",
    "pace_bias": "How far the ball rolls",
}
NEAR, FAR = "that brings you more short putts", "that saves you putts from far away"
NO_CHANGE = "About the same as on {day}. So few balls cannot show a small change: keep going."
FURTHER = "Let your putts roll a little further"
SOONER = "Let your putts stop a little sooner"
BETTER = "Better than on {day}."
LOWER = "This time {now}; on {day} {before}. Scores go up and down: the next test tells more."


def advice(estimate: PutterEstimate, units: UnitFormatter, aim: str = "") -> list[str]:
    """Where to start putts and how far to let them roll, where a bias is clear.

    `aim` says where the tests asked putts to stop ("at the line"), and is empty where they differ.
    """
    if not estimate.fits_model:
        return []
    sentences = []
    if estimate.line_bias and estimate.line_bias.sign:
        side = {1: units.pull_side, -1: units.push_side}[estimate.line_bias.sign]
        sentences.append(f"Start your putts a little further {side}.")
    if estimate.pace_bias and estimate.pace_bias.sign:
        sentence = {1: SOONER, -1: FURTHER}[estimate.pace_bias.sign]
        sentences.append(f"{sentence}: they are meant to stop {aim}." if aim else f"{sentence}.")
    return sentences


def work_on(gain: MarginalGain, estimate: PutterEstimate, units: UnitFormatter) -> list[str]:
    """What to practise, near the hole or far from it, where the tests can say."""
    near, far = gain.holed.more, gain.saved.more
    if near and near == far:
        return [f"{practice(near, estimate, units)}: {NEAR}, and {FAR}."]
    found = [(near, NEAR), (far, FAR)]
    return [f"{practice(kind, estimate, units)}: {brings}." for kind, brings in found if kind]


def practice(kind: ErrorKind, estimate: PutterEstimate, units: UnitFormatter) -> str:
    """What to practise against one of the four errors."""
    if kind == "line_bias" and estimate.line_bias:
        side = units.pull_side if estimate.line_bias.middle > 0 else units.push_side
        return f"Starting your putts a little further {side}"
    if kind == "pace_bias" and estimate.pace_bias:
        return f"Letting your putts {'stop sooner' if estimate.pace_bias.middle > 0 else 'roll further'}"
    if kind == "line" and estimate.at_hole and estimate.at_hole.is_wider:
        return "Reading the green and aiming"
    return WORK_ON[kind]


def targets(challenge: Challenge, units: UnitFormatter, *, is_child: bool) -> list[str]:
    """The targets for the next drill."""
    length = steps if is_child else units.length_in_steps
    found = []
    if challenge.is_placed and challenge.distance_m:
        found.append(f"{of_ten(challenge.share)} holed from {length(challenge.distance_m.middle)}")
    if challenge.gate_m:
        gate = f"a gate {units.gate_width(challenge.gate_m)} wide, {length(challenge.gate_distance_m)} away"
        found.append(f"{of_ten(challenge.share)} through {gate}")
    return found


def chip_target(leave_m: float, share: float, units: UnitFormatter, *, is_child: bool) -> str:
    """The target for chips."""
    return f"{of_ten(share)} chips stop within {steps(leave_m) if is_child else units.length_in_steps(leave_m)}"


def change_words(change: Change | None, day: str, now: str = "", before: str = "") -> str:
    """How the result changed since a day; `now` and `before` are the two results in counts."""
    if change is None:
        return ""
    sentence = {"better": BETTER, "worse": LOWER, "": NO_CHANGE}[change.verdict]
    return sentence.format(day=day, now=now, before=before)


def chips(chipping: Chipping, units: UnitFormatter) -> str:
    """How near chips stop."""
    if chipping.balls < FEW:
        return "A few more chips, and this page can say how near they stop."
    return f"Half of your chips stop within {units.length_in_steps(chipping.leave_m.middle)}."


def station(distance_m: float, stopped: int, dropped: int, units: UnitFormatter, *, has_hole: bool) -> str:
    """What a line of the chart of leaves shows."""
    where = f"From {units.length(distance_m)}: {counted(stopped + dropped, 'ball')}"
    return f"{where}, {dropped} holed" if has_hole else f"{where} to a line"


def holed(counts: Mapping[float, Share], units: UnitFormatter) -> str:
    """How many putts were holed of those that were counted, and from where."""
    if not counts:
        return ""
    seen, of = total_share(counts)
    near, far = units.length(min(counts)), units.length(max(counts))
    return f"You holed {seen} of {of} putts from {near}{'' if near == far else f' to {far}'}."


def gated(passed: int, balls: int) -> str:
    """How many balls went through a gate."""
    return f"{passed} of {balls} balls went through the gate." if balls else ""


def child(summary: Sequence[str], change: Change | None) -> str:
    """One sentence for a child."""
    if change and change.verdict == "better":
        return "You are getting better!"
    return summary[0] if summary else "You tried, and every ball counts."


def game(challenge: Challenge | None, units: UnitFormatter) -> str:
    """The challenge as a game for a child."""
    if challenge and challenge.is_placed and challenge.distance_m:
        distance = steps(challenge.distance_m.middle)
        return f"Putt ten balls from {distance}. {number_to_win(challenge.share)} in the hole, and you win."
    if challenge and challenge.gate_m:
        gate = f"Make a gate {units.gate_width(challenge.gate_m)} wide, {steps(challenge.gate_distance_m)} away"
        return f"{gate}. Putt ten balls. {number_to_win(challenge.share)} through it, and you win."
    return "Lay a club down. Putt ten balls to it. Each that stops within one step of it is a point."


def number_to_win(share: float) -> str:
    """The number that wins of ten."""
    return {6: "Six", 7: "Seven", 8: "Eight"}[round(10 * share)]
