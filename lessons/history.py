"""Each fault's history for one student: what its arrivals showed, its focuses, and what it comes to."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import cast

from django.utils import timezone

from coachbook.accounts.models import Academy, Side, Student
from lessons.arrivals import Arrivals, arrivals_of
from lessons.models import Fault, Focus, Lesson
from lessons.progress.judgement import Judgement, judge_all
from lessons.progress.points import LookPoint
from lessons.progress.states import Rules, Span


@dataclass(frozen=True)
class FaultHistory:
    """What every arrival showed of one fault, oldest first; `slot` is that of its open focus, or 0.

    `spans` are the days of its focuses, oldest first; of a trial that was dropped none are kept.
    """

    fault: Fault
    points: list[LookPoint]
    spans: list[Span]
    side: Side
    slot: int

    @property
    def focus_taken(self) -> date | None:
        """When it was taken on, the last time."""
        return self.spans[-1].taken if self.spans else None

    @property
    def focus_closed(self) -> date | None:
        """When it was closed; nothing while it is open."""
        return self.spans[-1].closed if self.spans else None

    @property
    def is_open(self) -> bool:
        """Whether it is worked on."""
        return self.slot > 0

    @property
    def picked_on_a_bad_day(self) -> bool:
        """Whether the fault was seen at the very arrival after which it was taken on."""
        return any(point.seen and point.day == self.focus_taken for point in self.points)


@dataclass(frozen=True)
class Judged:
    """A history with what it comes to."""

    history: FaultHistory
    judgement: Judgement


def rules_of(academy: Academy) -> Rules:
    """The academy's rules for the words of a focus's state."""
    return Rules(
        new_looks=academy.state_new,
        slips=academy.state_slips,
        holding=academy.state_holding,
        done=academy.state_done,
        done_days=academy.state_done_days,
        back=academy.state_back,
    )


def judged_histories(student: Student, rules: Rules) -> list[Judged]:
    """Every history with its judgement, all weighed together; five queries."""
    found = fault_histories(student)
    judgements = judge_all(((history.points, history.spans) for history in found), rules)
    return [Judged(history, judgement) for history, judgement in zip(found, judgements, strict=True)]


def fault_histories(student: Student) -> list[FaultHistory]:
    """Every fault that was seen at an arrival or taken on, open focuses first, then the latest seen; five queries."""
    arrivals, focuses = arrivals_of(student), focuses_by_fault(student)
    faults = Fault.objects.filter(pk__in=arrivals.seen | set(focuses)).select_related("skill")
    return sorted((history(fault, focuses.get(fault.pk, []), arrivals) for fault in faults), key=rank)


def focuses_by_fault(student: Student) -> dict[int, list[Focus]]:
    """The focuses on each fault, oldest first and what is worked on last; none from a draft, and no dropped trial."""
    found = student.focuses.filter(fault__isnull=False, opened_in__status=Lesson.Status.COMPLETE)
    dated = found.select_related("opened_in__session", "closed_in__session").order_by("opened_in__session__starts_at")
    focuses: dict[int, list[Focus]] = defaultdict(list)
    for focus in sorted(dated.exclude(decision=Focus.Decision.DROPPED), key=stands):
        focuses[cast(int, focus.fault_id)].append(focus)
    return focuses


def stands(focus: Focus) -> bool:
    """Whether a focus is worked on; one closed in a draft still is, until the draft is done."""
    return focus.closed_in is None or focus.closed_in.status == Lesson.Status.DRAFT


def history(fault: Fault, focuses: Iterable[Focus], arrivals: Arrivals) -> FaultHistory:
    """One fault's history, to be read from the side that was frozen on the latest lesson."""
    focuses = list(focuses)
    return FaultHistory(
        fault=fault,
        points=arrivals.points(fault.pk, fault.skill_id),
        spans=[span_of(focus) for focus in focuses],
        side=Side(arrivals.sides[fault.skill.area]),
        slot=focuses[-1].slot if focuses and stands(focuses[-1]) else 0,
    )


def span_of(focus: Focus) -> Span:
    """The days on which a focus was taken on and closed."""
    closed = None if stands(focus) else focus.closed_in
    return Span(day_of(focus.opened_in), day_of(closed) if closed else None)


def rank(history: FaultHistory) -> tuple[bool, int, int]:
    """Open focuses by their slot, then the others, the latest seen first."""
    last_seen = next((point.day.toordinal() for point in reversed(history.points) if point.seen), 0)
    return (not history.is_open, history.slot, -last_seen)


def day_of(lesson: Lesson) -> date:
    """The day of a lesson in the zone that the page shows."""
    return timezone.localdate(lesson.session.starts_at)
