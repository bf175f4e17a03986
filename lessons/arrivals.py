"""What the arrivals and departures of one student showed, read once for every fault."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, tzinfo
from typing import NamedTuple, cast

from django.utils import timezone

from coachbook.accounts.models import Area, Student
from lessons.models import Lesson, Look, Observation, Session
from lessons.progress.points import HEIGHTS, Degree, Level, LookPoint

ELSEWHERE = (Session.Kind.CLIP, Session.Kind.COURSE)
Shown = dict[int, Degree]  # the degree of each fault that a look at one skill showed; none of them: sound


class Visit(NamedTuple):
    """A lesson to which a student walked in."""

    pk: int
    day: date
    coach: int
    coach_name: str
    told: str


@dataclass
class Arrivals:
    """The visits, oldest first, and for each skill what the visits showed by their place; `sides` are the latest."""

    visits: list[Visit]
    sides: dict[str, str]
    arrived: dict[int, dict[int, Shown]] = field(default_factory=lambda: defaultdict(dict))
    left: dict[int, dict[int, Shown]] = field(default_factory=lambda: defaultdict(dict))
    kept: dict[tuple[int, Degree | None, bool, Level], LookPoint] = field(default_factory=dict)

    @property
    def seen(self) -> set[int]:
        """The faults that any arrival showed."""
        return {fault for shown in self.arrived.values() for look in shown.values() for fault in look}

    def points(self, fault: int, skill: int) -> list[LookPoint]:
        """What every visit showed of a fault, oldest first."""
        arrived, left = self.arrived.get(skill, {}), self.left.get(skill, {})
        return [self.point(place, fault, arrived.get(place), left.get(place)) for place in range(len(self.visits))]

    def point(self, place: int, fault: int, arrived: Shown | None, left: Shown | None) -> LookPoint:
        """One point; most visits show the same of many faults, so each is made once."""
        degree = arrived.get(fault) if arrived else None
        level = level_of(left, fault)
        key = (place, degree, arrived is not None, level)
        if key not in self.kept:
            visit = self.visits[place]
            self.kept[key] = LookPoint(visit.day, arrived is not None, degree, visit.coach_name, level, visit.told)
        return self.kept[key]


def level_of(shown: Shown | None, fault: int) -> Level:
    """The level at which a look showed a fault."""
    if shown is None:
        return "none"
    degree = shown.get(fault)
    return HEIGHTS[degree] if degree else "0"


def is_arrival(attendance: str, kind: str) -> bool:
    """Whether the student walked in for a lesson.

    A clip is the best of many tries and a course walk has its own ground: neither is ever an arrival.
    """
    return attendance == Lesson.Attendance.KEPT and kind not in ELSEWHERE


def arrivals_of(student: Student, zone: tzinfo | None = None) -> Arrivals:
    """Read a student's complete lessons and what they showed, in two queries; days in the zone that pages show."""
    found = Arrivals([], {})
    sides = [f"{area}_side" for area in Area.values]
    rows = student.lessons.complete().order_by("session__starts_at", "pk")
    for pk, at, kind, attendance, told, coach, name, *played in rows.values_list(
        *("pk", "session__starts_at", "session__kind", "attendance", "practice_told"),
        *("session__coach", "session__coach__user__name", *sides),
    ):
        if is_arrival(attendance, kind):
            found.visits.append(Visit(pk, timezone.localdate(at, zone), coach, name, told))
        found.sides = dict(zip(Area.values, played, strict=True))
    places = {visit.pk: place for place, visit in enumerate(found.visits)}
    for lesson, moment, skill, fault, degree in told_looks(student):
        if lesson in places:
            looks = found.arrived if moment == Look.Kind.ARRIVAL else found.left
            shown = looks[skill].setdefault(places[lesson], {})
            if fault:
                shown[fault] = cast(Degree, degree)
    return found


def told_looks(student: Student) -> Iterator[tuple[int, str, int, int | None, str | None]]:
    """Each lesson, look and skill that was judged, with each fault seen and its degree.

    An observation without a verdict holds a measure or a word and says nothing of a fault that it does not name;
    nor does one that is not sound and names none.
    """
    looks = Observation.objects.filter(look__lesson__student=student, look__kind__in=("arrival", "departure"))
    for lesson, moment, skill, verdict, fault, degree in looks.values_list(
        "look__lesson", "look__kind", "skill", "verdict", "seen_faults__fault", "seen_faults__degree"
    ):
        if fault or verdict == Observation.Verdict.SOUND:
            yield lesson, moment, skill, fault, degree
