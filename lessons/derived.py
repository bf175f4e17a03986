"""Working out what follows from a lesson, when it is done, changed, or moved.

The pages over a whole academy read what stands here instead of going through every look. It can always be worked out
again from the record: each function brings what it is about to what the record says now.
"""

from collections import defaultdict
from datetime import date, datetime, time, timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import QuerySet

from coachbook.accounts.models import Academy, Coach, Student
from lessons.arrivals import ELSEWHERE, Arrivals, arrivals_of, told
from lessons.models import Fault, Lesson, MonthCount, Observation, Outcome
from lessons.progress.held import outcomes

Counted = dict[int, dict[str, int]]  # for each fault how often it was looked at, and seen by degree
COUNTS = ("looked", "slight", "marked", "unsaid")


def zone() -> ZoneInfo:
    """The academy's time zone."""
    return ZoneInfo(Academy.current().time_zone)


def reckon(lesson: Lesson, *also: date) -> None:
    """Work out what follows from a lesson for its student and its coach's month, and the months of other days, too.

    With another day than it had, it has that for everybody who was in the session.
    """
    day = lesson.session.starts_at.astimezone(zone()).date()
    for month in {first_of(day), *map(first_of, also)}:
        reckon_month(lesson.session.coach, month)
    held_with = lesson.session.lessons.exclude(student=lesson.student) if set(also) - {day} else []
    for each in (lesson, *held_with):
        reckon_student(each.student)


def reckon_all() -> None:
    """Work out everything anew."""
    months = {
        (coach, first_of(at.astimezone(zone()).date()))
        for coach, at in Lesson.objects.complete().values_list("session__coach", "session__starts_at")
    }
    coaches = Coach.objects.in_bulk([coach for coach, _ in months])
    for coach, month in sorted(months):
        reckon_month(coaches[coach], month)
    for student in Student.objects.filter(lessons__status=Lesson.Status.COMPLETE).distinct():
        reckon_student(student)


def first_of(day: date) -> date:
    """The first day of its month."""
    return day.replace(day=1)


# --- Held, partly, lost -------------------------------------------------------------------------


class Told(NamedTuple):
    """What an outcome says beside what it is about."""

    before_id: int
    coach_id: int
    verdict: str
    day: date
    days: int
    told: str


@transaction.atomic
def reckon_student(student: Student) -> None:
    """Bring the outcomes of all of a student's changes to what their lessons say."""
    Student.objects.select_for_update(no_key=True).get(pk=student.pk)
    now = outcomes_of(arrivals_of(student, zone()))
    rows = Outcome.objects.filter(student=student).values_list("pk", "lesson", "fault", *Told._fields)
    before = {(lesson, fault): (pk, Told(*words)) for pk, lesson, fault, *words in rows}
    same = {key for key, (_, words) in before.items() if now.get(key) == words}
    Outcome.objects.filter(pk__in=[pk for key, (pk, _) in before.items() if key not in same]).delete()
    Outcome.objects.filter(lesson__student=student).exclude(student=student).delete()  # moved here with its lesson
    Outcome.objects.bulk_create(
        Outcome(student=student, lesson_id=lesson, fault_id=fault, **words._asdict())
        for (lesson, fault), words in now.items()
        if (lesson, fault) not in same
    )


def outcomes_of(arrivals: Arrivals) -> dict[tuple[int, int], Told]:
    """The outcomes as the lessons tell them, for each lesson and fault."""
    visits, found = arrivals.visits, {}
    for fault, skill in Fault.objects.filter(pk__in=arrivals.seen).values_list("pk", "skill"):
        for result in outcomes(arrivals.points(fault, skill)):
            before, now = visits[result.before], visits[result.now]
            found[now.pk, fault] = Told(before.pk, before.coach, result.verdict, now.day, result.days, now.told)
    return found


# --- How often, month by month ------------------------------------------------------------------


@transaction.atomic
def reckon_month(coach: Coach, month: date) -> None:
    """Bring the counts of a coach's month, named by its first day, to what their lessons say."""
    Coach.objects.select_for_update(no_key=True).get(pk=coach.pk)
    now = count(looks_of(coach, month))
    outdated = MonthCount.objects.filter(coach=coach, month=month).exclude(fault__in=now)
    outdated.delete()
    MonthCount.objects.bulk_create(
        [MonthCount(coach=coach, month=month, fault_id=fault, **counted) for fault, counted in now.items()],
        update_conflicts=True,
        unique_fields=["coach", "month", "fault"],
        update_fields=COUNTS,
    )


def looks_of(coach: Coach, month: date) -> QuerySet[Observation]:
    """What the arrivals of a coach's complete lessons in a month were looked at for."""
    begins, ends = (datetime.combine(day, time.min, zone()) for day in (month, first_of(month + timedelta(days=31))))
    arrivals = {"look__kind": "arrival", "look__lesson__attendance": Lesson.Attendance.KEPT}
    done = Observation.objects.filter(look__lesson__status=Lesson.Status.COMPLETE, **arrivals)
    held = {"look__lesson__session__coach": coach, "look__lesson__session__starts_at__gte": begins}
    within = done.filter(**held, look__lesson__session__starts_at__lt=ends)
    return within.exclude(look__lesson__session__kind__in=ELSEWHERE)


def count(looks: QuerySet[Observation]) -> Counted:
    """Count the looks for every fault of each skill that they judged."""
    judged: dict[int, set[int]] = defaultdict(set)
    seen: dict[int, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for look, skill, fault, degree in told(looks):
        judged[skill].add(look)
        if fault:
            seen[fault][degree] += 1
    faults = Fault.objects.filter(skill__in=judged).values_list("pk", "skill")
    return {
        fault: {"looked": len(judged[skill]), **{name: seen[fault][name] for name in COUNTS[1:]}}
        for fault, skill in faults
    }
