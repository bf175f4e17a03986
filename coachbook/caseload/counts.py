"""What a caseload comes to, counted on plain points."""

import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import NamedTuple

RECENT_DAYS = 30


def practice_words(asked: int, reported: int) -> str:
    """Practice in words: what nobody reported is never called none."""
    if not asked and not reported:
        return "nothing given"
    if not reported:
        return "not reported"
    counts = f"{reported} of {asked}" if asked else f"{reported}"
    return f"{counts} session{'' if max(asked, reported) == 1 else 's'} reported"


DateRange = tuple[date, date | None]  # a first and a last day, both counted; no last day is no end in sight


class Away(NamedTuple):
    """The days, both counted, on which a student reported that they cannot come, and why."""

    first: date
    last: date
    reason: str


def holds(span: DateRange, on: date) -> bool:
    """Whether a span holds on a day."""
    first, last = span
    return first <= on and (last is None or on <= last)


def days_outside(after: date, on: date, spans: Iterable[DateRange]) -> int:
    """How many days came after one day, up to another, without those that lie in a span."""
    paused: set[int] = set()
    for first, last in spans:
        begins, ends = max(first, after + timedelta(days=1)), min(last or on, on)
        paused.update(range(begins.toordinal(), ends.toordinal() + 1))
    return (on - after).days - len(paused)


@dataclass(frozen=True)
class StudentInCare:
    """One student in a coach's care, as the record stands on a day.

    `in_care_since` is the day they first came into anybody's care, `last` the day of the last lesson they came to and
    `practice_reported` what they said of their practice then; `reviews` are the review days of what is given now,
    `pauses` the times in which nobody expects them, and `absences` those of today and to come, the earliest first.
    """

    on: date
    coach: int
    student: int
    key: uuid.UUID
    name: str
    in_care_since: date
    pauses: tuple[DateRange, ...] = ()
    until: date | None = None
    last: date | None = None
    next: date | None = None  # the next lesson that is booked
    practice_reported: str = ""
    asked: int = 0
    reported: int = 0
    reviews: tuple[date, ...] = ()
    focuses: tuple[str, ...] = ()
    absences: tuple[Away, ...] = ()

    @property
    def practice(self) -> str:
        """Practice reported of practice asked, in words."""
        return practice_words(self.asked, self.reported)

    @property
    def practice_share(self) -> float | None:
        """Practice reported as a share of practice asked; None where nothing is asked."""
        return self.reported / self.asked if self.asked else None

    @property
    def paused(self) -> bool:
        """Whether the student pauses on this day."""
        return any(holds(pause, self.on) for pause in self.pauses)

    @property
    def overdue(self) -> list[date]:
        """The review days that have passed with no lesson since, earliest first; none of a student who pauses."""
        if self.paused:
            return []
        return sorted(day for day in self.reviews if day < self.on and (self.last is None or self.last < day))

    @property
    def due(self) -> date | None:
        """The next review day, today's included."""
        return min((day for day in self.reviews if day >= self.on), default=None)

    def is_unseen(self, days: int) -> bool:
        """Whether so many days went by without a lesson; the days of a pause are not among them."""
        return not self.paused and days_outside(self.last or self.in_care_since, self.on, self.pauses) >= days


@dataclass(frozen=True)
class CaseloadTotals:
    """One row of the caseload; `overdue` and `unseen` are students, so that each number has as many names behind it."""

    students: int
    lessons: int
    asked: int
    reported: int
    overdue: int
    unseen: int
    drafts: int

    @property
    def practice(self) -> str:
        """Practice reported of practice asked, in words."""
        return practice_words(self.asked, self.reported)


def summarise_students(students: Iterable[StudentInCare], *, lessons: int, drafts: int, days: int) -> CaseloadTotals:
    """The sums over some students, each counted once even where two coaches share them."""
    each = {one.student: one for one in students}.values()
    return CaseloadTotals(
        students=len(each),
        lessons=lessons,
        asked=sum(one.asked for one in each),
        reported=sum(one.reported for one in each),
        overdue=sum(bool(one.overdue) for one in each),
        unseen=sum(one.is_unseen(days) for one in each),
        drafts=drafts,
    )
