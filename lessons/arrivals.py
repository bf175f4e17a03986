"""What the arrivals and departures of one student showed, read once for all faults."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, tzinfo
from decimal import Decimal
from functools import cached_property
from typing import NamedTuple, cast

from django.utils import timezone

from coachbook.accounts.models import Area, Student
from lessons.models import Focus, Lesson, Look, Session
from lessons.progress.points import LEVELS, Degree, Level, LookPoint
from lessons.progress.readings import Reading
from lessons.shown import GOOD, MOMENTS, Counted, Shown, shown_to

WORSE: tuple[Degree, ...] = ("not_graded", "slight", "clear")  # of two degrees, what was graded says more
KINDS_WITHOUT_ARRIVAL = (Session.Kind.CLIP, Session.Kind.COURSE)
SIDES = tuple(f"{area}_side" for area in Area.values)
HUNDREDTH = Decimal("0.01")  # measures have two digits after the point

# What is looked at: the number of a skill or fault of the catalogue, or area and text of a coach's own words.
Subject = int | str


class Visit(NamedTuple):
    """A lesson for which the student came, so that it has an arrival."""

    pk: int
    day: date
    coach: int
    coach_name: str
    practice_reported: str


@dataclass
class MomentLooks:
    """The looks of one moment (arrival or departure); a visit is named by its index.

    `looked` holds, for each skill, a 1 at each visit that looked at it; `degrees` holds, for each fault, its degree at
    the visits on which it was seen. Own words are both skill and fault.
    """

    looked: defaultdict[Subject, bytearray]
    degrees: dict[Subject, dict[int, Degree]] = field(default_factory=lambda: defaultdict(dict))

    def add(self, shown: Shown, counted: Counted, visits: Sequence[int]) -> None:
        """Some visits showed a fault, or that its skill was good; what is neither says nothing."""
        if shown.fault or shown.degree == GOOD:
            self.mark(counted.skills.get(shown.skill, shown.skill), visits)
        if shown.fault:
            self.mark(counted.skill_of_fault[shown.fault], visits)
            self.grade(counted.faults[shown.fault], cast(Degree, shown.degree), visits)

    def add_own_words(self, subject: str, degree: str | None, visits: Sequence[int]) -> None:
        """Some visits looked at a coach's own words."""
        self.mark(subject, visits)
        if degree != GOOD:
            self.grade(subject, cast(Degree, degree), visits)

    def mark(self, skill: Subject, visits: Sequence[int]) -> None:
        """Some visits looked at a skill."""
        looked = self.looked[skill]
        for visit in visits:
            looked[visit] = 1

    def grade(self, fault: Subject, degree: Degree, visits: Sequence[int]) -> None:
        """Some visits showed a fault in this degree; a worse one that they showed, too, stands."""
        degrees = self.degrees[fault]
        for visit in visits:
            degrees[visit] = worse(degree, degrees[visit]) if visit in degrees else degree


@dataclass
class Arrivals:
    """The visits of one student, oldest first, with what each arrival and departure showed; `sides` are the latest."""

    visits: list[Visit]
    sides: dict[str, str]
    on_arrival: MomentLooks
    on_departure: MomentLooks
    counted: Counted = field(default_factory=Counted)
    # For each skill that was measured and each visit: what was measured on arrival (False) and on departure (True).
    measured: dict[int, dict[int, dict[bool, Decimal]]] = field(default_factory=dict)
    # Most visits show the same of many faults, so each point is made once.
    good_by_skill: dict[Subject, list[LookPoint]] = field(default_factory=dict)
    point_cache: dict[tuple[int, bool, Degree | None, Level], LookPoint] = field(default_factory=dict)

    @property
    def faults_seen(self) -> set[int]:
        """The faults of the catalogue that were seen on any arrival."""
        return {fault for fault in self.on_arrival.degrees if isinstance(fault, int)}

    def subject_of(self, focus: Focus) -> Subject:
        """What a focus is about, as `subject_of` gives it, without its fault being read."""
        if focus.fault_id is None:
            return subject_of_words(f"{focus.area}: {focus.what}")
        return self.counted.faults.get(focus.fault_id, focus.fault_id)

    def points(self, fault: Subject, skill: Subject) -> list[LookPoint]:
        """What every visit showed of a fault, oldest first."""
        if skill not in self.good_by_skill:
            self.good_by_skill[skill] = self.good_points(skill)
        points = list(self.good_by_skill[skill])
        arrival, departure = self.on_arrival.degrees.get(fault, {}), self.on_departure.degrees.get(fault, {})
        for visit in arrival.keys() | departure.keys():
            good = points[visit]
            level = LEVELS[departure[visit]] if visit in departure else good.departure
            points[visit] = self.point(visit, good.looked, arrival.get(visit), level)
        return points

    def add_measure(self, shown: Shown, visits: Sequence[int]) -> None:
        """Some visits measured a number of a skill."""
        skill = self.counted.measured.get(shown.skill, shown.skill)
        number, is_departure = Decimal(shown.number or 0).quantize(HUNDREDTH), shown.moment == Look.Kind.DEPARTURE
        for visit in visits:
            self.measured.setdefault(skill, {}).setdefault(visit, {})[is_departure] = number

    def readings(self, skill: int) -> list[Reading]:
        """What was measured of a skill at every visit, oldest first."""
        measured = self.measured.get(skill, {})
        numbers = [measured.get(visit, {}) for visit in range(len(self.visits))]
        return [
            Reading(visit.day, number.get(False), number.get(True))
            for visit, number in zip(self.visits, numbers, strict=True)
        ]

    def good_points(self, skill: Subject) -> list[LookPoint]:
        """What every visit showed of a fault of this skill that was never seen."""
        looked = zip(self.good_by_visit, self.on_arrival.looked[skill], self.on_departure.looked[skill], strict=True)
        return [good[arrival][departure] for good, arrival, departure in looked]

    @cached_property
    def good_by_visit(self) -> list[tuple[tuple[LookPoint, LookPoint], tuple[LookPoint, LookPoint]]]:
        """For each visit the point of a fault that was not seen, by whether it was looked at, and so on departure."""
        return [(both_departures(visit, False), both_departures(visit, True)) for visit in self.visits]

    def point(self, index: int, looked: bool, degree: Degree | None, departure: Level) -> LookPoint:
        """One point, taken from the cache where an equal one was made before."""
        key = (index, looked, degree, departure)
        if point := self.point_cache.get(key):
            return point
        visit = self.visits[index]
        point = LookPoint(visit.day, looked, degree, visit.coach_name, departure, visit.practice_reported)
        return self.point_cache.setdefault(key, point)


def both_departures(visit: Visit, looked: bool) -> tuple[LookPoint, LookPoint]:
    """What a visit shows of a fault that is not seen, without a look on departure and with one."""
    day, coach, practice = visit.day, visit.coach_name, visit.practice_reported
    return (
        LookPoint(day, looked, None, coach, "none", practice),
        LookPoint(day, looked, None, coach, "0", practice),
    )


def is_arrival(attendance: str, kind: str) -> bool:
    """Whether the student came for a lesson.

    A clip is the best of many tries and a course walk has its own ground: neither has an arrival.
    """
    return attendance == Lesson.Attendance.KEPT and kind not in KINDS_WITHOUT_ARRIVAL


def arrivals_of(student: Student, zone: tzinfo | None = None) -> Arrivals:
    """Read a student's complete lessons and what they showed, in two queries; days in the zone that pages show."""
    zone = zone or timezone.get_current_timezone()
    lessons = student.lessons.complete().order_by("session__starts_at", "pk")
    columns = ("pk", "session__starts_at", "session__coach", "session__coach__user__name", "practice_reported")
    rows = list(lessons.values_list(*columns, "attendance", "session__kind", *SIDES))
    sides = dict(zip(Area.values, rows[-1][-len(SIDES) :], strict=True)) if rows else {}
    visits = [Visit(row[0], row[1].astimezone(zone).date(), *row[2:5]) for row in rows if is_arrival(*row[5:7])]
    return read_observations(student, visits, sides)


def arrivals_in(student: Student, lessons: Iterable[Lesson]) -> Arrivals:
    """The same of complete lessons that were read before, newest first with their coach's name, in one query."""
    oldest_first = list(lessons)[::-1]
    visits = [
        Visit(
            lesson.pk,
            timezone.localdate(lesson.session.starts_at),
            lesson.session.coach_id,
            lesson.session.coach.user.name,
            lesson.practice_reported,
        )
        for lesson in oldest_first
        if is_arrival(lesson.attendance, lesson.session.kind)
    ]
    sides = {area: getattr(oldest_first[-1], f"{area}_side") for area in Area.values} if oldest_first else {}
    return read_observations(student, visits, sides)


def read_observations(student: Student, visits: list[Visit], sides: dict[str, str]) -> Arrivals:
    """Read what the looks on arrival and departure showed, and what was measured, at each visit."""
    arrival, departure = (MomentLooks(defaultdict(lambda: bytearray(len(visits)))) for _ in MOMENTS)
    found, moments = Arrivals(visits, sides, arrival, departure), dict(zip(MOMENTS, (arrival, departure), strict=True))
    indexes = {str(visit.pk): index for index, visit in enumerate(visits)}
    rows, found.counted = shown_to(student)
    for shown in rows:
        on = [indexes[lesson] for lesson in shown.lessons.split(",") if lesson in indexes]
        if not on:
            continue
        if shown.own_words:
            moments[shown.moment].add_own_words(subject_of_words(shown.own_words), shown.degree, on)
        else:
            moments[shown.moment].add(shown, found.counted, on)
        if shown.number is not None:
            found.add_measure(shown, on)
    return found


def worse(degree: Degree, other: Degree | None) -> Degree:
    """The worse of two degrees that one look showed of what is one fault."""
    return max(degree, other or degree, key=WORSE.index)


def subject_of(focus: Focus) -> Subject:
    """What a focus is about: its fault as it is counted, or its own words, which are the same in capitals or not."""
    if focus.fault:
        return focus.fault.merged_into_id or focus.fault.pk
    return subject_of_words(f"{focus.area}: {focus.what}")


def subject_of_words(words: str) -> str:
    """The subject of area and text as they are stored."""
    area, _, what = words.partition(": ")
    return f"{area}: {what.strip().casefold()}"
