"""What tests say, as a student reads it: what to practise next and how good it is getting, in plain words."""

from collections.abc import Mapping, Sequence

from drills.putting.chips import Chipping
from drills.putting.coach_text import Ear, of_ten, steps
from drills.putting.predictions import Challenge, Change, Known, Worth, together
from lessons.progress.intervals import Share
from lessons.progress.sentences import FEW
from lessons.progress.words import counted

WORK_ON = {
    "line": "Where the ball starts: that brings you more short putts.",
    "pace": "How far the ball rolls: that saves you more putts from far away.",
}
NO_CHANGE = "About as on {day}. So few balls cannot show a small change: keep going."
FARTHER = "Let your putts roll a little farther: to stop one foot past the hole is best."
SOONER = "Let your putts stop a little sooner: one foot past the hole is far enough."
BETTER, WORSE = "Better than on {day}.", "Not as good as on {day}. That happens; the next test tells more."


def tendencies(told: Known, ear: Ear) -> list[str]:
    """To which side the balls tend to go, and how far they should, only where it is clear; best is one foot past."""
    said = []
    if told.described and told.line_bias and not told.line_bias.low <= 0 <= told.line_bias.high:
        said.append(f"Your putts tend to start {ear.push if told.line_bias.middle > 0 else ear.pull}.")
    if told.described and told.pace_bias and not told.pace_bias.low <= 0 <= told.pace_bias.high:
        said.append(SOONER if told.pace_bias.middle > 0 else FARTHER)
    return said


def work_on(found: Worth) -> list[str]:
    """What to practise, near the hole or far from it, where the tests can say."""
    return list(dict.fromkeys(WORK_ON[part] for part in work_parts(found)))


def work_parts(found: Worth) -> list[str]:
    """The start line where it holes more, and pace where it saves more."""
    near = ["line"] if found.holed.more == "line" else []
    return near + (["pace"] if found.saved.more == "pace" else [])


def marks(found: Challenge, ear: Ear, *, is_child: bool) -> list[str]:
    """The success marks for the next drill."""
    said = []
    if found.placed and found.distance_m:
        place = steps(found.distance_m.middle) if is_child else ear.walked(found.distance_m.middle)
        said.append(f"{of_ten(found.share)} holed from {place}")
    if found.gate_m:
        away = steps(found.gate_distance_m) if is_child else ear.walked(found.gate_distance_m)
        said.append(f"{of_ten(found.share)} through a gate {ear.width(found.gate_m)} wide, {away} away")
    return said


def chip_mark(leave_m: float, share: float, ear: Ear, *, is_child: bool) -> str:
    """The success mark for chips."""
    place = steps(leave_m) if is_child else ear.walked(leave_m)
    return f"{of_ten(share)} chips stop within {place}"


def getting(found: Change | None, day: str) -> str:
    """How good it is getting; nothing where there was no test before."""
    if found is None:
        return ""
    return {"better": BETTER, "worse": WORSE, "": NO_CHANGE}[found.verdict].format(day=day)


def chips(found: Chipping, ear: Ear) -> str:
    """How near chips stop."""
    if found.balls < FEW:
        return "A few more chips, and this page can say how near they stop."
    return f"Half of your chips stop within {ear.walked(found.leave_m.middle)}."


def station(place: float, stopped: int, dropped: int, ear: Ear, *, has_hole: bool) -> str:
    """What a line of the picture shows."""
    where = f"From {ear.length(place)}: {counted(stopped + dropped, 'ball')}"
    return f"{where}, {dropped} holed" if has_hole else f"{where} to a line"


def holed(counts: Mapping[float, Share], ear: Ear) -> str:
    """How many putts were holed of those that were counted, and from where."""
    if not counts:
        return ""
    seen, of = together(counts)
    near, far = ear.length(min(counts)), ear.length(max(counts))
    return f"You holed {seen} of {of} putts from {near}{'' if near == far else f' to {far}'}."


def gated(passed: int, balls: int) -> str:
    """How many balls went through a gate."""
    return f"{passed} of {balls} balls went through the gate." if balls else ""


def child(how: Sequence[str], change: Change | None) -> str:
    """One sentence for a child."""
    if change and change.verdict == "better":
        return "You are getting better!"
    return how[0] if how else "You tried, and every ball counts."


def game(found: Challenge | None, ear: Ear) -> str:
    """The challenge as a game."""
    if found and found.placed and found.distance_m:
        return f"Putt ten balls from {steps(found.distance_m.middle)}. {win(found.share)} in the hole, and you win."
    if found and found.gate_m:
        gate = f"Make a gate {ear.width(found.gate_m)} wide, {steps(found.gate_distance_m)} away"
        return f"{gate}. Putt ten balls. {win(found.share)} through it, and you win."
    return "Lay a club down. Putt ten balls to it. Each that stops within one step of it is a point."


def win(share: float) -> str:
    """The number that wins of ten."""
    return {6: "Six", 7: "Seven", 8: "Eight"}[round(10 * share)]
