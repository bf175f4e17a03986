"""What a sentence is read as: proposals, each with the words it rests on, and what was left out as unsure."""

from dataclasses import dataclass
from enum import StrEnum


class Look(StrEnum):
    """When it was seen: before the work or after it."""

    ARRIVAL = "arrival"
    DEPARTURE = "departure"


class Kind(StrEnum):
    """What a proposal is about."""

    GOOD = "good"
    FAULT = "fault"
    KEEP = "keep"
    FOCUS = "focus"
    DRILL = "drill"


@dataclass(frozen=True)
class Dose:
    """What was said of a dose; None where nothing was. `unit` is minutes, balls or successes."""

    amount: int | None = None
    unit: str | None = None
    per_week: int | None = None
    days: int | None = None


@dataclass(frozen=True)
class Proposal:
    """One thing to enter. `start` and `end` count characters of the text as it was written.

    GOOD: look, skill. FAULT: look, skill, fault, degree (slight, clear or not_graded). KEEP: skill.
    FOCUS: skill, fault.
    DRILL: drill and dose; a dose of which no drill was named has None.
    """

    kind: Kind
    start: int
    end: int
    look: Look | None = None
    skill: str | None = None
    fault: str | None = None
    degree: str | None = None
    drill: str | None = None
    dose: Dose | None = None


@dataclass(frozen=True)
class LeftOut:
    """Words that may mean something, and in a plain sentence why nothing is proposed for them."""

    reason: str
    start: int
    end: int


@dataclass(frozen=True)
class Reading:
    """All that is proposed and all that was left out, each in the order of the text."""

    proposals: tuple[Proposal, ...] = ()
    left_out: tuple[LeftOut, ...] = ()

    @property
    def found_nothing(self) -> bool:
        """Whether there is neither a proposal nor anything left out."""
        return not self.proposals and not self.left_out
