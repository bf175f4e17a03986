"""Recompute `Outcome` and `MonthCount` when a lesson is finished, changed or moved.

The pages over a whole academy read these rows instead of every look. Each function brings its rows to what the lessons
say now, so that everything can be recomputed at any time.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable
from datetime import date, datetime, time, timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import Q, QuerySet

from coachbook.accounts.models import Academy, Coach, Student
from lessons.arrivals import KINDS_WITHOUT_ARRIVAL, Arrivals, arrivals_of, worse
from lessons.counted import COUNTED_SKILL, graded_rows
from lessons.models import Fault, Lesson, MonthCount, Observation, Outcome, Skill
from lessons.progress.baseline import chances_anyway
from lessons.progress.held import outcomes
from lessons.progress.points import Degree

Counts = dict[int, dict[str, int]]  # for each fault: on how many arrivals it was looked at, and seen by degree
COUNTS = ("looked", "slight", "clear", "not_graded")


def academy_zone() -> ZoneInfo:
    """The academy's time zone."""
    return ZoneInfo(Academy.current().time_zone)


def recompute_for_lesson(lesson: Lesson, *other_days: date) -> None:
    """Recompute the outcomes of a lesson's student and the month of its coach, and the months of other days.

    A lesson that had another day before changes its day for everybody in the session, so that their outcomes are
    recomputed, too.
    """
    day = lesson.session.starts_at.astimezone(academy_zone()).date()
    for month in {first_of_month(day), *map(first_of_month, other_days)}:
        recompute_month(lesson.session.coach, month)
    same_session = lesson.session.lessons.exclude(student=lesson.student) if set(other_days) - {day} else []
    for each in (lesson, *same_session):
        recompute_student(each.student)


def recompute_all() -> None:
    """Recompute every row."""
    recompute_for_lessons(Lesson.objects.complete())


def recompute_for_merged(rows: Iterable[Skill | Fault]) -> None:
    """Recompute what follows from lessons that looked at these skills or faults, which are counted differently now."""
    skills = {row.pk for row in rows if isinstance(row, Skill)}
    faults = {row.pk for row in rows if isinstance(row, Fault)}
    moved = Q(skill__in=skills) | Q(skill__faults__in=faults) | Q(seen_faults__fault__in=faults)
    looks = Observation.objects.filter(moved).values("look__lesson")
    recompute_for_lessons(Lesson.objects.complete().filter(pk__in=looks))


def recompute_for_lessons(lessons: QuerySet[Lesson]) -> None:
    """Recompute the months and the students of some lessons."""
    zone, months, students = academy_zone(), set(), set()
    for coach, at, student in lessons.values_list("session__coach", "session__starts_at", "student"):
        months.add((coach, first_of_month(at.astimezone(zone).date())))
        students.add(student)
    coaches = Coach.objects.in_bulk([coach for coach, _ in months])
    for coach, month in sorted(months):
        recompute_month(coaches[coach], month)
    for row in Student.objects.filter(pk__in=students).order_by("pk"):
        recompute_student(row)


def first_of_month(day: date) -> date:
    """The first day of its month."""
    return day.replace(day=1)


# --- Outcomes: held, partly, lost ---------------------------------------------------------------


class OutcomeValues(NamedTuple):
    """The columns of an outcome beside its student, lesson and fault."""

    before_id: int
    coach_id: int
    verdict: str
    day: date
    days: int
    practice_reported: str
    anyway: float | None


@transaction.atomic
def recompute_student(student: Student) -> None:
    """Bring the outcomes of all of a student's changes to what their lessons say."""
    Student.objects.select_for_update(no_key=True).get(pk=student.pk)
    now = outcomes_of(arrivals_of(student, academy_zone()))
    rows = Outcome.objects.filter(student=student).values_list("pk", "lesson", "fault", *OutcomeValues._fields)
    stored = {(lesson, fault): (pk, OutcomeValues(*values)) for pk, lesson, fault, *values in rows}
    same = {key for key, (_, values) in stored.items() if now.get(key) == values}
    Outcome.objects.filter(pk__in=[pk for key, (pk, _) in stored.items() if key not in same]).delete()
    Outcome.objects.filter(lesson__student=student).exclude(student=student).delete()  # moved here with its lesson
    Outcome.objects.bulk_create(
        Outcome(student=student, lesson_id=lesson, fault_id=fault, **values._asdict())
        for (lesson, fault), values in now.items()
        if (lesson, fault) not in same
    )


def outcomes_of(arrivals: Arrivals) -> dict[tuple[int, int], OutcomeValues]:
    """The outcomes that follow from the lessons, by lesson and fault."""
    visits, found = arrivals.visits, {}
    for fault, skill in Fault.objects.filter(pk__in=arrivals.faults_seen).values_list("pk", COUNTED_SKILL):
        points = arrivals.points(fault, skill)
        results = outcomes(points)
        for result, chance in zip(results, chances_anyway(points, results), strict=True):
            before, now = visits[result.before], visits[result.now]
            found[now.pk, fault] = OutcomeValues(
                before_id=before.pk,
                coach_id=before.coach,
                verdict=result.verdict,
                day=now.day,
                days=result.days,
                practice_reported=now.practice_reported,
                anyway=None if chance is None else round(chance, 3),
            )
    return found


# --- Counts by month ----------------------------------------------------------------------------


@transaction.atomic
def recompute_month(coach: Coach, month: date) -> None:
    """Bring the counts of one coach's month, given by its first day, to what the lessons say."""
    Coach.objects.select_for_update(no_key=True).get(pk=coach.pk)
    now = count_by_fault(arrival_observations(coach, month))
    outdated = MonthCount.objects.filter(coach=coach, month=month).exclude(fault__in=now)
    outdated.delete()
    MonthCount.objects.bulk_create(
        [MonthCount(coach=coach, month=month, fault_id=fault, **counts) for fault, counts in now.items()],
        update_conflicts=True,
        unique_fields=["coach", "month", "fault"],
        update_fields=COUNTS,
    )


def arrival_observations(coach: Coach, month: date) -> QuerySet[Observation]:
    """The observations on arrival in a coach's complete lessons of one month."""
    next_month = first_of_month(month + timedelta(days=31))
    begins, ends = (datetime.combine(day, time.min, academy_zone()) for day in (month, next_month))
    arrivals = {"look__kind": "arrival", "look__lesson__attendance": Lesson.Attendance.KEPT}
    complete = Observation.objects.filter(look__lesson__status=Lesson.Status.COMPLETE, **arrivals)
    session = {"look__lesson__session__coach": coach, "look__lesson__session__starts_at__gte": begins}
    within = complete.filter(**session, look__lesson__session__starts_at__lt=ends)
    return within.exclude(look__lesson__session__kind__in=KINDS_WITHOUT_ARRIVAL)


def count_by_fault(observations: QuerySet[Observation]) -> Counts:
    """Count the looks for every fault of each skill that was looked at."""
    looked: dict[int, set[int]] = defaultdict(set)
    seen: dict[int, dict[int, Degree]] = defaultdict(dict)
    for look, skill, skill_of_fault, fault, degree in graded_rows(observations, "look"):
        looked[skill].add(look)
        if fault:
            looked[skill_of_fault].add(look)
            seen[fault][look] = worse(degree, seen[fault].get(look))
    faults = Fault.objects.filter(merged_into=None).annotate(counted_skill_id=COUNTED_SKILL)
    rows = faults.filter(counted_skill_id__in=looked).values_list("pk", "counted_skill_id")
    return {fault: {"looked": len(looked[skill]), **degrees_of(seen[fault])} for fault, skill in rows}


def degrees_of(seen: dict[int, Degree]) -> dict[str, int]:
    """At how many looks a fault was seen, by degree."""
    degrees = Counter(seen.values())
    return {"slight": degrees["slight"], "clear": degrees["clear"], "not_graded": degrees["not_graded"]}
