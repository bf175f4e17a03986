"""Each fault's history for one student: what the arrivals showed, its focuses, and the judgement of both."""

import uuid
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import QuerySet
from django.utils import timezone

from coachbook.accounts.models import Academy, Area, Side, Student
from lessons.arrivals import Arrivals, Subject, arrivals_of
from lessons.models import Fault, Focus, Lesson
from lessons.progress.focus_states import Rules, Span
from lessons.progress.judgement import Judgement, judge_all
from lessons.progress.points import LookPoint

# What is joined to a focus, so that its fault and skill are known as they are counted without another query.
FAULT_AS_COUNTED = ("fault__skill__merged_into", "fault__merged_into__skill__merged_into")
LESSONS_OF_FOCUS = ("opened_in__session", "closed_in__session")
# What a history tells of a focus: its subject, its days and its place.
TOLD_OF_FOCUS = (
    *("key", "student", "area", "what", "fault", "slot", "decision"),
    *("opened_in__session__starts_at", "closed_in__status", "closed_in__session__starts_at"),
)


@dataclass(frozen=True)
class OwnWords:
    """What a student works on in a coach's own words, in place of a fault; `pk` is the key of its latest focus."""

    pk: uuid.UUID
    name: str
    area: Area
    counted_skill: None = None  # no skill of the catalogue

    @property
    def goal(self) -> str:
        """What the student reads: the same words."""
        return self.name


@dataclass(frozen=True)
class FaultHistory:
    """What every arrival showed of one fault or of own words, oldest first; `slot` is that of its open focus, or 0.

    `spans` are the days of its focuses, oldest first, without those of dropped trials.
    """

    subject: Subject
    fault: Fault | OwnWords
    points: list[LookPoint]
    spans: list[Span]
    side: Side
    slot: int

    @property
    def opened_on(self) -> date | None:
        """The day on which its latest focus was opened."""
        return self.spans[-1].opened if self.spans else None

    @property
    def closed_on(self) -> date | None:
        """The day on which its latest focus was closed; None while it is open."""
        return self.spans[-1].closed if self.spans else None

    @property
    def is_open(self) -> bool:
        """Whether a focus on it is open."""
        return self.slot > 0


@dataclass(frozen=True)
class JudgedHistory:
    """A history with its judgement."""

    history: FaultHistory
    judgement: Judgement


def rules_of(academy: Academy) -> Rules:
    """The academy's rules for the state of a focus."""
    return Rules(
        new_looks=academy.state_new_looks,
        lost=academy.state_lost,
        holding=academy.state_holding,
        ready=academy.state_ready,
        ready_days=academy.state_ready_days,
        returned=academy.state_returned,
    )


def judged_histories(student: Student, rules: Rules, arrivals: Arrivals | None = None) -> list[JudgedHistory]:
    """Every history with its judgement, all judged together; four queries, two of which read the arrivals."""
    return judge_histories(fault_histories(student, arrivals), rules)


def judge_histories(found: Sequence[FaultHistory], rules: Rules) -> list[JudgedHistory]:
    """Judge histories together, in their order."""
    judgements = judge_all(((history.points, history.spans) for history in found), rules)
    return [JudgedHistory(history, judgement) for history, judgement in zip(found, judgements, strict=True)]


def fault_histories(student: Student, arrivals: Arrivals | None = None) -> list[FaultHistory]:
    """Every fault seen on an arrival or with a focus, and own words with a focus; four queries.

    Open focuses come first, then the latest seen.
    """
    arrivals = arrivals or arrivals_of(student)
    groups = group_by_subject(agreed_focuses(student).only(*TOLD_OF_FOCUS), arrivals)
    named = arrivals.faults_seen.union(subject for subject in groups if isinstance(subject, int))
    rows = Fault.objects.filter(pk__in=named).select_related("skill__merged_into")
    faults = {subject: own_words(group[-1]) for subject, group in groups.items()} | {fault.pk: fault for fault in rows}
    found = [history(subject, fault, groups.get(subject, []), arrivals) for subject, fault in faults.items()]
    return sorted(found, key=rank)


def focus_histories(focuses: Iterable[Focus], arrivals: Arrivals) -> list[FaultHistory]:
    """The history of every fault, and of own words, that have one of these focuses; without a query."""
    focuses = list(focuses)
    groups = group_by_subject(focuses, arrivals)
    faults = {arrivals.subject_of(focus): fault_of(focus) for focus in focuses}
    return [history(subject, fault, groups.get(subject, []), arrivals) for subject, fault in faults.items()]


def focuses_of(student: Student) -> list[Focus]:
    """The focuses that complete lessons opened, oldest first, with their faults and lessons; one query."""
    return list(agreed_focuses(student).select_related(*FAULT_AS_COUNTED))


def agreed_focuses(student: Student) -> QuerySet[Focus]:
    """The same with their lessons alone."""
    found = student.focuses.filter(opened_in__status=Lesson.Status.COMPLETE).select_related(*LESSONS_OF_FOCUS)
    return found.order_by("opened_in__session__starts_at")


def group_by_subject(focuses: Iterable[Focus], arrivals: Arrivals) -> dict[Subject, list[Focus]]:
    """The focuses on each fault or on the same own words, oldest first and the open one last; no dropped trials."""
    found: dict[Subject, list[Focus]] = defaultdict(list)
    for focus in sorted(focuses, key=is_open):
        if focus.decision != Focus.Decision.DROPPED:
            found[arrivals.subject_of(focus)].append(focus)
    return found


def fault_of(focus: Focus) -> Fault | OwnWords:
    """The fault of a focus as it is counted, or its own words."""
    return focus.fault.counted if focus.fault else own_words(focus)


def own_words(focus: Focus) -> OwnWords:
    """What a focus says in place of a fault."""
    return OwnWords(focus.key, focus.what, Area(focus.area))


def is_open(focus: Focus) -> bool:
    """Whether a focus is open; one closed in a draft still is, until the draft is finished."""
    return focus.closed_in is None or focus.closed_in.status == Lesson.Status.DRAFT


def history(subject: Subject, fault: Fault | OwnWords, focuses: Sequence[Focus], arrivals: Arrivals) -> FaultHistory:
    """One history, with the playing side of the latest lesson; own words begin with their first focus."""
    spans = [span_of(focus) for focus in focuses]
    if isinstance(fault, OwnWords):
        area, begins = fault.area, min((span.opened for span in spans), default=date.min)
        points = [point for point in arrivals.points(subject, subject) if point.day >= begins]
    else:
        area, points = Area(fault.skill.area), arrivals.points(subject, fault.counted_skill.pk)
    return FaultHistory(
        subject=subject,
        fault=fault,
        points=points,
        spans=spans,
        side=Side(arrivals.sides[area]),
        slot=focuses[-1].slot if focuses and is_open(focuses[-1]) else 0,
    )


def span_of(focus: Focus) -> Span:
    """The days on which a focus was opened and closed."""
    closed = None if is_open(focus) else focus.closed_in
    return Span(day_of(focus.opened_in), day_of(closed) if closed else None)


def rank(history: FaultHistory) -> tuple[bool, int, int]:
    """Open focuses by their slot, then the others, the latest seen first."""
    last_seen = next((point.day.toordinal() for point in reversed(history.points) if point.seen), 0)
    return (not history.is_open, history.slot, -last_seen)


def day_of(lesson: Lesson) -> date:
    """The day of a lesson in the zone that the page shows."""
    return timezone.localdate(lesson.session.starts_at)
