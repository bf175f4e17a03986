"""Who needs attention, and why: one rule for each reason, on plain facts; nothing is added up to a score."""

import uuid
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from typing import NamedTuple


class Kind(StrEnum):
    """The reasons, the most pressing first."""

    UNANSWERED = "unanswered"
    CONSENT = "consent"
    DRAFT = "draft"
    NOT_SEEN = "not-seen"
    REVIEW = "review"
    SILENT = "silent"
    LOST = "lost"
    OF_AGE = "of-age"


class Rule(NamedTuple):
    """What a reason is called, what its number means, and the number where an academy has not chosen one."""

    label: str
    number_means: str
    usual: int


# Common practice, no source.
RULES: dict[Kind, Rule] = {
    Kind.UNANSWERED: Rule("A message waits for an answer", "days since it was written", 1),
    Kind.CONSENT: Rule("A guardian or a consent is missing", "days since the student came", 0),
    Kind.DRAFT: Rule("A log is not finished", "days since the lesson", 2),
    Kind.NOT_SEEN: Rule("Not seen, and nothing is booked", "days since the last lesson", 60),
    Kind.REVIEW: Rule("A review is overdue", "days since it was due", 1),
    Kind.SILENT: Rule("Practice is no longer reported", "days since the last report", 10),
    Kind.LOST: Rule("Changes of a focus are lost again", "changes in a row", 2),
    Kind.OF_AGE: Rule("Comes of age", "days before", 60),
}


@dataclass(frozen=True)
class Facts:
    """What the record holds of one student in care on a day; None where there is nothing of the kind."""

    on: date
    student: int
    key: uuid.UUID
    name: str
    coach: str
    in_care_since: date
    last: date | None = None  # the last lesson they came to
    days_unseen: int = 0  # since then, or since they came; the days of a pause are not among them
    paused: bool = False
    next_lesson: date | None = None
    overdue: date | None = None  # the earliest review that has passed
    last_report: date | None = None  # of practice of what is given now
    unanswered: date | None = None  # the last message, where somebody of the family wrote it
    draft: date | None = None  # the oldest log that is not finished
    draft_key: uuid.UUID | None = None
    is_junior: bool = False
    has_guardian: bool = True
    unshared: bool = False  # a second coach helps a junior, and nobody consented to sharing
    of_age: date | None = None  # a junior's first day of age
    lost: Mapping[str, int] = field(default_factory=dict)  # changes lost in a row, by the fault of an open focus


class Reason(NamedTuple):
    """One reason why a student needs attention, in words."""

    kind: Kind
    words: str


def reasons(facts: Facts, numbers: Mapping[Kind, int]) -> list[Reason]:
    """The reasons that apply, the most pressing first; `numbers` holds the rules that are on."""
    return [Reason(kind, words) for kind in Kind if kind in numbers for words in CHECKS[kind](facts, numbers[kind])]


def unanswered(facts: Facts, days: int) -> Iterator[str]:
    """A message of the family is the last word."""
    if facts.unanswered and (facts.on - facts.unanswered).days >= days:
        yield f"A message of {day(facts.unanswered)} waits for an answer"


def consent(facts: Facts, days: int) -> Iterator[str]:
    """Nobody decides for a junior, or a second coach helps without consent."""
    if not facts.is_junior or (facts.on - facts.in_care_since).days < days:
        return
    if not facts.has_guardian:
        yield "No guardian, so nobody can consent or read the messages"
    elif facts.unshared:
        yield "A second coach helps, and nobody has consented to sharing the record"


def draft(facts: Facts, days: int) -> Iterator[str]:
    """A log lies unfinished."""
    if facts.draft and (facts.on - facts.draft).days >= days:
        yield f"The log of {day(facts.draft)} is not finished"


def not_seen(facts: Facts, days: int) -> Iterator[str]:
    """No lesson for long, and none to come."""
    if facts.paused or facts.next_lesson or facts.days_unseen < days:
        return
    if facts.last:
        yield f"Not seen for {facts.days_unseen} days, and nothing is booked"
    else:
        yield f"No lesson yet in {facts.days_unseen} days, and nothing is booked"


def review(facts: Facts, days: int) -> Iterator[str]:
    """A review day has passed without a lesson."""
    if facts.overdue and (facts.on - facts.overdue).days >= days:
        yield f"The review is overdue since {day(facts.overdue)}"


def silent(facts: Facts, days: int) -> Iterator[str]:
    """Practice was reported, and then no more; one who never reported may practise all the same."""
    if facts.last_report and not facts.paused and (facts.on - facts.last_report).days >= days:
        yield f"No practice reported for {(facts.on - facts.last_report).days} days"


def lost(facts: Facts, changes: int) -> Iterator[str]:
    """Changes of an open focus were lost by the next arrival, again and again."""
    for name, number in facts.lost.items():
        if number >= max(changes, 1):
            yield f"{name}: the last {number} changes were lost by the next arrival"


def of_age(facts: Facts, days: int) -> Iterator[str]:
    """A junior will decide alone."""
    if facts.of_age and 0 <= (facts.of_age - facts.on).days <= days:
        yield f"Comes of age on {facts.of_age:%-d %B %Y}, and then gives consent without a guardian"


def day(when: date) -> str:
    """A day in words."""
    return f"{when:%-d %B}"


CHECKS: dict[Kind, Callable[[Facts, int], Iterator[str]]] = {
    Kind.UNANSWERED: unanswered,
    Kind.CONSENT: consent,
    Kind.DRAFT: draft,
    Kind.NOT_SEEN: not_seen,
    Kind.REVIEW: review,
    Kind.SILENT: silent,
    Kind.LOST: lost,
    Kind.OF_AGE: of_age,
}
