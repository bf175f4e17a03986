"""The first screen of a coach's page of results: three plain sentences and one target to try."""

from dataclasses import dataclass

from drills.putting import coach_text, predictions, student_text, summary_text
from drills.putting.observations import Counted, Gated, Leaves
from drills.putting.predictions import Challenge
from drills.scored_tests.results.estimates import Comparison, PuttingResult, balls_in, chip_target_m
from drills.scored_tests.results.gather import Results, day_and_moment, moment_of
from lessons.progress.intervals import Share
from lessons.progress.words import counted


@dataclass(frozen=True)
class Summary:
    """At most three sentences, and one target; empty where nothing can be set."""

    sentences: list[str]
    target: str


def summary_of(results: Results, challenge: Challenge | None) -> Summary:
    """What these tests say, what costs most, and what changed."""
    sentences = [counts_of(results), costs_of(results), changes_of(results)]
    return Summary([sentence for sentence in sentences if sentence], target_of(results, challenge))


def counts_of(results: Results) -> str:
    """What was counted, and how many tests cannot be read."""
    putting, chipping, units = results.putting, results.chips.chipping, results.units
    measured = sum(balls_in(each) for each in putting.observations if isinstance(each, Leaves))
    parts = summary_text.counts(counted_putts(putting), gate_share(putting), measured, units)
    if chipping:
        parts.append(summary_text.chips(chipping.leave_m, chipping.balls, units))
    if putting.unread:
        parts.append(f"{counted(putting.unread, 'test')} cannot be read")
    return summary_text.sentence(parts)


def counted_putts(putting: PuttingResult) -> dict[float, Share]:
    """Counted putts; leaves from far away are for pace, not for putts holed."""
    putts = predictions.holed_by_distance([each for each in putting.observations if isinstance(each, Counted)])
    return {distance: share for distance, share in putts.items() if share.of}


def gate_share(putting: PuttingResult) -> Share:
    """The balls that went through gates."""
    gates = [each for each in putting.observations if isinstance(each, Gated)]
    return Share(sum(gate.passed for gate in gates), sum(balls_in(gate) for gate in gates))


def costs_of(results: Results) -> str:
    """Which error costs most, or the one reason why that cannot be told; chips alone tell of chips and putts."""
    putting = results.putting
    if not putting.tests:
        return coach_text.MORE_WORTH[results.chips.more]
    if putting.estimate is None:
        return f"{counted(putting.balls, 'ball')} in all: too few to say more than the counts."
    return summary_text.costs_most(putting.estimate, results.gain, results.units)


def changes_of(results: Results) -> str:
    """What changed since the tests before, the latest first."""
    clear = [each for each in results.comparisons if each.change and each.change.verdict]
    if clear:
        return change_sentence(clear[0], mixed=results.test is None and clear[0].before in results.tests)
    if any(each.change for each in results.comparisons):
        return summary_text.NO_CHANGE
    return summary_text.NOT_COMPARABLE if results.comparisons else summary_text.NOTHING_EARLIER


def change_sentence(comparison: Comparison, *, mixed: bool) -> str:
    """A clear change; `mixed` if the estimates of the page mix before and after."""
    name, day = f"{comparison.test.design}{moment_of(comparison.test)}", day_and_moment(comparison.before)
    verdict = comparison.change.verdict if comparison.change else ""
    return f"{name}: {verdict} than on {day}{summary_text.MIXED if mixed else ''}."


def target_of(results: Results, challenge: Challenge | None) -> str:
    """One target: the gate where the start line leads, else the putts to hole, or what can be set."""
    units, leads = results.units, results.gain.holed.more if results.gain else None
    if challenge:
        holing, gate = summary_text.holing_target(challenge, units), summary_text.gate_target(challenge, units)
        by_gate = leads in ("line", "line_bias") and not is_read_or_aim(results.putting)
        if holing or gate:
            return (gate or holing) if by_gate else (holing or gate)
    chips_m = chip_target_m(results.chips, results.share)
    return student_text.chip_target(chips_m, results.share, units, is_child=False) if chips_m is not None else ""


def is_read_or_aim(putting: PuttingResult) -> bool:
    """Whether putts at the hole are off by more than the stroke: a gate trains the stroke alone."""
    at_hole = putting.estimate.at_hole if putting.estimate else None
    return bool(at_hole and (at_hole.is_wider or at_hole.shift_deg))
