"""What the tests of a student say in three plain sentences for a coach: the counts, what costs most, what changed."""

from collections.abc import Mapping, Sequence

from drills.putting.coach_text import POORLY, of_ten
from drills.putting.posterior import Estimate
from drills.putting.predictions import Challenge, ErrorKind, GainComparison, MarginalGain, PutterEstimate, total_share
from drills.putting.unit_formatter import UnitFormatter
from lessons.progress.intervals import Share
from lessons.progress.sentences import FEW
from lessons.progress.words import counted

SPREADS: tuple[ErrorKind, ...] = ("line", "pace")
NAMES: dict[ErrorKind, str] = {
    "line": "An uneven start line",
    "line_bias": "Starting putts to one side",
    "pace": "Uneven pace",
    "pace_bias": "Leaving putts short or long",
}
READ = "Uneven read or aim at the hole"
NOT_SEPARABLE = "Cannot tell yet what costs most: the same makes and misses come from start line or from pace."
ONE_OF_TWO = "Cannot tell yet what costs most: these tests show only one of start line and pace."
TOO_FEW = "Cannot tell yet what costs most: too few balls."
NOTHING_EARLIER = "No earlier test to compare with: the next one of the same kind shows what changes."
NO_CHANGE = "No change since the tests before that so few balls could show."
MIXED = "; the estimates mix before and after"
NOT_COMPARABLE = "The tests before cannot be compared with these: too few balls, or another set-up."


def counts(holed: Mapping[float, Share], gate: Share, measured: int, units: UnitFormatter) -> list[str]:
    """How many were holed and from where, and how many went through a gate; else how many leaves were measured."""
    parts = []
    if holed:
        seen, of = total_share(holed)
        near, far = units.length(min(holed)), units.length(max(holed))
        parts.append(f"{seen} of {of} putts holed from {near}{'' if near == far else f' to {far}'}")
    if gate.of:
        parts.append(f"{gate.seen} of {gate.of} balls through the gate")
    return parts or ([f"{counted(measured, 'putt')} measured"] if measured else [])


def chips(leave: Estimate, balls: int, units: UnitFormatter) -> str:
    """How near chips stop."""
    if balls < FEW:
        return f"{counted(balls, 'chip')}, too few to say more"
    return f"half of {balls} chips within {units.length(leave.middle)}"


def sentence(parts: Sequence[str]) -> str:
    """Some parts as one sentence; nothing for none."""
    words = ", ".join(parts)
    return f"{words[:1].upper()}{words[1:]}." if words else ""


def costs_most(estimate: PutterEstimate, gain: MarginalGain | None, units: UnitFormatter) -> str:
    """Which of the four errors costs most, near the hole or far from it; or the one reason why that cannot be told."""
    if not estimate.fits_model:
        return POORLY
    if not estimate.has_line_and_pace or gain is None:
        return ONE_OF_TWO if estimate.is_separable else NOT_SEPARABLE
    near, far = gain.holed.more, gain.saved.more
    if near and near == far:
        return leading(near, gain.holed, estimate, units, "near the hole and far from it", "more of ten holed")
    if near:
        return leading(near, gain.holed, estimate, units, "near the hole", "more of ten holed")
    if far:
        return leading(far, gain.saved, estimate, units, "far from the hole", "fewer three-putts in ten")
    if len(gain.holed.candidates) == 2:
        one, other = (name_of(kind, estimate, units) for kind in gain.holed.candidates)
        return f"Cannot tell yet what costs most: {one[0].lower()}{one[1:]}, or {other[0].lower()}{other[1:]}."
    return TOO_FEW


def leading(
    kind: ErrorKind, gain: GainComparison, estimate: PutterEstimate, units: UnitFormatter, where: str, unit: str
) -> str:
    """The error that leads, where, and what less of it would bring."""
    brings = next(each.brings.middle for each in gain.gains if each.kind == kind)
    less = "a fifth less of it" if kind in SPREADS else "none of it"
    return f"{name_of(kind, estimate, units)} costs most {where}: with {less}, {brings:.1f} {unit}."


def name_of(kind: ErrorKind, estimate: PutterEstimate, units: UnitFormatter) -> str:
    """An error as a sentence begins with it; a bias has its direction, and what is not the stroke is read or aim."""
    at_hole = estimate.at_hole
    if kind == "line" and at_hole and at_hole.is_wider:
        return READ
    if kind == "line_bias" and estimate.line_bias:
        verb = "Reading or aiming putts" if at_hole and at_hole.shift_deg else "Starting putts"
        return f"{verb} {units.push_side if estimate.line_bias.middle > 0 else units.pull_side}"
    if kind == "pace_bias" and estimate.pace_bias:
        return "Rolling putts too far" if estimate.pace_bias.middle > 0 else "Leaving putts short"
    return NAMES[kind]


def holing_target(challenge: Challenge, units: UnitFormatter) -> str:
    """The putts to hole, where their distance is known well enough."""
    if not (challenge.is_placed and challenge.distance_m):
        return ""
    return f"{of_ten(challenge.share)} holed from {units.length_in_steps(challenge.distance_m.middle)}"


def gate_target(challenge: Challenge, units: UnitFormatter) -> str:
    """The gate, where balls were putted through one."""
    if not challenge.gate_m:
        return ""
    wide, away = units.gate_width(challenge.gate_m), units.length(challenge.gate_distance_m)
    return f"{of_ten(challenge.share)} through a gate {wide} wide, {away} away"
