"""What the arrivals and departures of one student showed, read once for every fault."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, tzinfo
from typing import NamedTuple, cast

from django.db.models import Q, QuerySet
from django.utils import timezone

from coachbook.accounts.models import Area, Student
from lessons.models import Lesson, Look, Observation, Session
from lessons.progress.points import HEIGHTS, Degree, Level, LookPoint

MOMENTS = (Look.Kind.ARRIVAL.value, Look.Kind.DEPARTURE.value)
ELSEWHERE = (Session.Kind.CLIP, Session.Kind.COURSE)
SIDES = tuple(f"{area}_side" for area in Area.values)


class Visit(NamedTuple):
    """A lesson to which a student walked in."""

    pk: int
    day: date
    coach: int
    coach_name: str
    told: str


@dataclass
class Looks:
    """What the looks of one moment showed, by the place of their visits: which skills were judged, and each fault."""

    judged: list[set[int]]
    shown: dict[int, dict[int, Degree]] = field(default_factory=lambda: defaultdict(dict))


@dataclass
class Arrivals:
    """The visits, oldest first, and what they showed when the student came and left; `sides` are the latest."""

    visits: list[Visit]
    sides: dict[str, str]
    came: Looks
    left: Looks
    clean: dict[int, list[LookPoint]] = field(default_factory=dict)  # of each skill, if nothing had ever been seen
    sound: dict[tuple[bool, bool], list[LookPoint]] = field(default_factory=dict)
    kept: dict[tuple[int, bool, Degree | None, Level], LookPoint] = field(default_factory=dict)

    @property
    def seen(self) -> set[int]:
        """The faults that any arrival showed."""
        return set(self.came.shown)

    def points(self, fault: int, skill: int) -> list[LookPoint]:
        """What every visit showed of a fault, oldest first."""
        if skill not in self.clean:
            self.clean[skill] = self.sound_points(skill)
        points = list(self.clean[skill])
        came, left = self.came.shown.get(fault, {}), self.left.shown.get(fault, {})
        for place in came.keys() | left.keys():
            sound = points[place]
            level = HEIGHTS[left[place]] if place in left else sound.left
            points[place] = self.point(place, sound.looked, came.get(place), level)
        return points

    def sound_points(self, skill: int) -> list[LookPoint]:
        """What every visit showed of a fault that none of them showed."""
        looked = [(skill in came, skill in left) for came, left in zip(self.came.judged, self.left.judged, strict=True)]
        for came, left in set(looked) - self.sound.keys():
            level: Level = "0" if left else "none"
            self.sound[came, left] = [self.point(place, came, None, level) for place in range(len(self.visits))]
        return [self.sound[key][place] for place, key in enumerate(looked)]

    def point(self, place: int, looked: bool, degree: Degree | None, left: Level) -> LookPoint:
        """One point; most visits show the same of many faults, so each is made once."""
        key = (place, looked, degree, left)
        if key not in self.kept:
            visit = self.visits[place]
            self.kept[key] = LookPoint(visit.day, looked, degree, visit.coach_name, left, visit.told)
        return self.kept[key]


def is_arrival(attendance: str, kind: str) -> bool:
    """Whether the student walked in for a lesson.

    A clip is the best of many tries and a course walk has its own ground: neither is ever an arrival.
    """
    return attendance == Lesson.Attendance.KEPT and kind not in ELSEWHERE


def arrivals_of(student: Student, zone: tzinfo | None = None) -> Arrivals:
    """Read a student's complete lessons and what they showed, in three queries; days in the zone that pages show."""
    zone = zone or timezone.get_current_timezone()
    lessons = student.lessons.complete().order_by("session__starts_at", "pk")
    columns = ("pk", "session__starts_at", "session__coach", "session__coach__user__name", "practice_told")
    rows = list(lessons.values_list(*columns, "attendance", "session__kind", *SIDES))
    sides = dict(zip(Area.values, rows[-1][-len(SIDES) :], strict=True)) if rows else {}
    visits = [Visit(row[0], row[1].astimezone(zone).date(), *row[2:5]) for row in rows if is_arrival(*row[5:7])]
    came, left = ([set[int]() for _ in visits] for _ in MOMENTS)
    found = Arrivals(visits, sides, Looks(came), Looks(left))
    add_looks(found, student)
    return found


def add_looks(found: Arrivals, student: Student) -> None:
    """Read what the looks at each visit showed.

    The many observations are read as numbers, since words take longer, and say by their look when that was.
    """
    dated = looks_of(found, student)
    for look, skill, fault, degree in told(Observation.objects.filter(look__lesson__student=student)):
        if look in dated:
            looks, place = dated[look]
            looks.judged[place].add(skill)
            if fault:
                looks.shown[fault][place] = degree


def looks_of(found: Arrivals, student: Student) -> dict[int, tuple[Looks, int]]:
    """For each look on arrival or departure at one of the visits, where what it showed belongs."""
    places = {visit.pk: place for place, visit in enumerate(found.visits)}
    moments = dict(zip(MOMENTS, (found.came, found.left), strict=True))
    rows = Look.objects.filter(lesson__student=student, kind__in=MOMENTS).values_list("pk", "kind", "lesson")
    return {pk: (moments[kind], places[lesson]) for pk, kind, lesson in rows if lesson in places}


def told(observed: QuerySet[Observation]) -> Iterable[tuple[int, int, int | None, Degree]]:
    """Each look and skill that was judged, with each fault seen and its degree.

    An observation without a verdict holds a measure or a word and says nothing of a fault that it does not name;
    nor does one that is not sound and names none.
    """
    judged = observed.filter(Q(verdict=Observation.Verdict.SOUND) | Q(seen_faults__isnull=False))
    rows = judged.values_list("look", "skill", "seen_faults__fault", "seen_faults__degree")
    return cast(Iterable[tuple[int, int, int | None, Degree]], rows.iterator(chunk_size=5000))
