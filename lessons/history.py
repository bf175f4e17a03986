"""Each fault's history for one student, gathered from the arrivals of complete lessons."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import cast

from django.utils import timezone

from coachbook.accounts.models import Side, Student
from lessons.models import Fault, Focus, Lesson, Look, Observation, Session
from lessons.progress.points import Degree, LookPoint


@dataclass(frozen=True)
class FaultHistory:
    """What every arrival showed of one fault, oldest first; `slot` is that of its open focus, or 0."""

    fault: Fault
    points: list[LookPoint]
    focus_taken: date | None
    focus_closed: date | None
    side: Side
    slot: int

    @property
    def is_open(self) -> bool:
        """Whether it is worked on."""
        return self.slot > 0

    @property
    def picked_on_a_bad_day(self) -> bool:
        """Whether the fault was seen at the very arrival after which it was taken on."""
        return any(point.seen and point.day == self.focus_taken for point in self.points)


@dataclass(frozen=True)
class Evidence:
    """What arrival looks say: (lesson, skill) that was judged, and the degree of each (lesson, fault) seen."""

    judged: set[tuple[int, int]]
    degrees: dict[tuple[int, int], Degree]

    def point(self, lesson: Lesson, fault: Fault) -> LookPoint:
        """What the arrival of a lesson showed of a fault."""
        degree = self.degrees.get((lesson.pk, fault.pk))
        looked = degree is not None or (lesson.pk, fault.skill_id) in self.judged
        return LookPoint(day_of(lesson), looked, degree, lesson.session.coach.user.name)


def fault_histories(student: Student) -> list[FaultHistory]:
    """Every fault that was seen at an arrival or taken on, open focuses first, then the latest seen; four queries."""
    lessons = list(student.lessons.complete().latest_first())[::-1]
    arrivals = [lesson for lesson in lessons if has_arrival(lesson)]
    evidence = evidence_of(arrivals, student)
    focuses = latest_focuses(student)
    shown = {fault for _, fault in evidence.degrees} | set(focuses)
    faults = Fault.objects.filter(pk__in=shown).select_related("skill")
    histories = [history(fault, focuses.get(fault.pk), lessons[-1], arrivals, evidence) for fault in faults]
    return sorted(histories, key=rank)


def has_arrival(lesson: Lesson) -> bool:
    """Whether the student walked in for a lesson.

    A clip is the best of many tries and a course walk has its own ground: neither is ever an arrival.
    """
    elsewhere = (Session.Kind.CLIP, Session.Kind.COURSE)
    return lesson.attendance == Lesson.Attendance.KEPT and lesson.session.kind not in elsewhere


def evidence_of(arrivals: Iterable[Lesson], student: Student) -> Evidence:
    """What the arrival looks of these lessons say.

    An observation without a verdict holds a measure or a word and says nothing of a fault that it does not name;
    nor does one that is not sound and names none.
    """
    of_interest = {lesson.pk for lesson in arrivals}
    found = Observation.objects.filter(look__kind=Look.Kind.ARRIVAL, look__lesson__student=student)
    judged, degrees = set(), {}
    for lesson, skill, verdict, fault, degree in found.values_list(
        "look__lesson", "skill", "verdict", "seen_faults__fault", "seen_faults__degree"
    ):
        if lesson in of_interest and (fault or verdict == Observation.Verdict.SOUND):
            judged.add((lesson, skill))
            if fault:
                degrees[lesson, fault] = cast(Degree, degree)
    return Evidence(judged, degrees)


def latest_focuses(student: Student) -> dict[int, Focus]:
    """For each fault the focus that stands, or else the last one taken on; none from a draft."""
    found = student.focuses.filter(fault__isnull=False, opened_in__status=Lesson.Status.COMPLETE)
    dated = found.select_related("opened_in__session", "closed_in__session").order_by("opened_in__session__starts_at")
    return {cast(int, focus.fault_id): focus for focus in sorted(dated, key=stands)}


def stands(focus: Focus) -> bool:
    """Whether a focus is worked on; one closed in a draft still is, until the draft is done."""
    return focus.closed_in is None or focus.closed_in.status == Lesson.Status.DRAFT


def history(
    fault: Fault, focus: Focus | None, latest: Lesson, arrivals: list[Lesson], evidence: Evidence
) -> FaultHistory:
    """One fault's history, to be read from the side that was frozen on the latest lesson."""
    closed = None if focus is None or stands(focus) else focus.closed_in
    return FaultHistory(
        fault=fault,
        points=[evidence.point(lesson, fault) for lesson in arrivals],
        focus_taken=day_of(focus.opened_in) if focus else None,
        focus_closed=day_of(closed) if closed else None,
        side=latest.side(fault.skill.area),
        slot=focus.slot if focus and stands(focus) else 0,
    )


def rank(history: FaultHistory) -> tuple[bool, int, int]:
    """Open focuses by their slot, then the others, the latest seen first."""
    last_seen = max((point.day.toordinal() for point in history.points if point.seen), default=0)
    return (not history.is_open, history.slot, -last_seen)


def day_of(lesson: Lesson) -> date:
    """The day of a lesson in the zone that the page shows."""
    return timezone.localdate(lesson.session.starts_at)
