"""What was claimed, piece by piece, and how the claims of a whole text are joined."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from lessons.sentence.dose import Given
from lessons.sentence.match import Hit
from lessons.sentence.reading import Look

SLIGHT, CLEAR, NOT_GRADED = "slight", "clear", "not_graded"


@dataclass
class Claim:
    """One skill at one look: good, or one fault with its degree. `start` and `end` count tokens."""

    look: Look
    skill: str
    fault: str | None
    start: int
    end: int
    degree: str = NOT_GRADED
    is_sure: bool = True  # whether its look is
    is_carried: bool = False  # whether its look was said of something before it

    @property
    def is_good(self) -> bool:
        return self.fault is None


@dataclass
class Comparison:
    """Better or worse than before, at departure; the fault is known once the whole text was read."""

    skill: str
    fault: str | None
    degree: str
    start: int
    end: int
    is_sure: bool = True  # whether it is said to be of the departure


@dataclass
class Found:
    """All that was claimed of a text."""

    claims: list[Claim] = field(default_factory=list)
    comparisons: list[Comparison] = field(default_factory=list)
    keeps: list[tuple[str, Look, int, int]] = field(default_factory=list)
    focuses: list[tuple[str, str | None, int, int]] = field(default_factory=list)  # skill, fault
    given: list[Given] = field(default_factory=list)
    left_out: list[tuple[str, int, int]] = field(default_factory=list)  # key of the reason

    def leave_out(self, reason: str, hit: Hit) -> None:
        self.left_out.append((reason, hit.start, hit.end))

    def faults_of(self, skill: str) -> list[str]:
        """The faults of a skill that were claimed, each once, in the order of the text."""
        return list(dict.fromkeys(claim.fault for claim in self.claims if claim.skill == skill and claim.fault))


def joined(claims: Iterable[Claim]) -> list[Claim]:
    """One claim for each look and fault, with its first degree; good only where no fault of the skill was claimed."""
    claims = list(claims)
    faulty = {(claim.look, claim.skill) for claim in claims if claim.fault}
    kept: dict[tuple[Look, str, str | None], Claim] = {}
    for claim in claims:
        if claim.is_good and (claim.look, claim.skill) in faulty:
            continue
        first = kept.setdefault((claim.look, claim.skill, claim.fault), claim)
        if first.degree == NOT_GRADED:
            first.degree = claim.degree
    return list(kept.values())


def settle_comparisons(found: Found, faults: dict[str, frozenset[str]]) -> None:
    """Turn each better or worse into the fault that it speaks of, on departure."""
    for comparison in found.comparisons:
        fault = comparison.fault or the_only(found.faults_of(comparison.skill) or sorted(faults[comparison.skill]))
        if fault is None:
            found.left_out.append(("not_good", comparison.start, comparison.end))
            continue
        found.claims = [claim for claim in found.claims if not same_departure(claim, comparison.skill, fault)]
        found.claims.append(
            Claim(
                *(Look.DEPARTURE, comparison.skill, fault, comparison.start, comparison.end, comparison.degree),
                is_sure=comparison.is_sure,
            )
        )


def leave_out_unseen(found: Found) -> None:
    """Leave out a fault of the departure whose skill was not seen on arrival, unless the end is said outright.

    "Second half", "after lunch" and "less" say as often something else as that a fault came with the work: of the
    items of such proposals, on sentences that no rule had been made on, 14 of 23 were false, of all 98 of 1157.
    """
    seen = {claim.skill for claim in found.claims if claim.look is Look.ARRIVAL}
    for claim in list(found.claims):
        if claim.look is Look.DEPARTURE and claim.fault and not claim.is_sure and claim.skill not in seen:
            found.claims.remove(claim)
            found.left_out.append(("unseen_before", claim.start, claim.end))


def same_departure(claim: Claim, skill: str, fault: str) -> bool:
    """Whether a comparison says more exactly what this claim says."""
    return claim.look is Look.DEPARTURE and claim.skill == skill and claim.fault in (fault, None)


def the_only(faults: list[str]) -> str | None:
    return faults[0] if len(faults) == 1 else None


def settle_focuses(found: Found, faults: dict[str, frozenset[str]]) -> list[tuple[str, str, int, int]]:
    """Each focus with its fault: the one said, else the one claimed of its skill, else its only one."""
    settled = []
    for skill, said, start, end in found.focuses:
        known = [said] if said else found.faults_of(skill)
        settled += [(skill, fault, start, end) for fault in known]
    return list({fault: (skill, fault, start, end) for skill, fault, start, end in reversed(settled)}.values())[::-1]
