"""A large academy for the bench: many coaches and students over five years, and one student who always came back.

Nobody here exists. Rows are written without their history: only what the pages read is weighed.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from itertools import chain
from random import Random
from typing import NamedTuple

from django.db import transaction

from coachbook.accounts.models import Care, Coach, Student, User
from lessons.models import Fault, Focus, Lesson, Look, Observation, SeenFault, Session, Skill

KINDS = (Look.Kind.ARRIVAL, Look.Kind.DEPARTURE)
REGULAR = "Old Regular"
SEED = 7
TOGETHER = 100  # students whose lessons are written at once
RARE = 0.02  # the share of looks that show another fault of the skill than the usual one


@dataclass(frozen=True)
class Size:
    """How large a crowd is; `lessons` are those of each student, `skills` those that each look is about."""

    coaches: int = 30
    students: int = 5000
    lessons: int = 50
    skills: int = 5
    days: int = 5 * 365

    def __str__(self) -> str:
        lessons = self.students * self.lessons
        return f"{lessons:,} lessons, {lessons * self.skills * len(KINDS):,} observations"


class Habit(NamedTuple):
    """A skill that is looked at, the fault that it mostly shows, and all that it may show."""

    skill: Skill
    usual: Fault
    faults: list[Fault]


class Plan(NamedTuple):
    """One student's lessons before they are written."""

    student: Student
    coach: Coach
    times: list[datetime]
    habits: list[Habit]


Shown = tuple[Fault, str] | None  # a fault and its degree; nothing: good


def add_crowd(on: date, size: Size, seed: int = SEED) -> None:
    """Add coaches, students and their lessons up to a day; what follows from them is left to `lessons.derived`."""
    rng, skills = Random(seed), skills_with_faults()
    coaches = [Coach.objects.create(user=account(f"Coach {n}")) for n in range(1, size.coaches + 1)]
    students = Student.objects.bulk_create(
        Student(name=f"Student {n}", age_group="adult") for n in range(1, size.students + 1)
    )
    plans = [
        Plan(student, coaches[n % len(coaches)], times_until(on, size, n), habits_of(skills, size.skills, rng))
        for n, student in enumerate(students)
    ]
    for first in range(0, len(plans), TOGETHER):
        write(plans[first : first + TOGETHER], rng)


def add_regular(on: date, size: Size, seed: int = SEED) -> Student:
    """Add one student with so many lessons and skills, taught by the first coach there is."""
    rng, coach = Random(seed), Coach.objects.order_by("pk")[0]
    student = Student.objects.create(name=REGULAR, age_group="adult", user=account(REGULAR))
    habits = habits_of(skills_with_faults(), size.skills, rng)
    write([Plan(student, coach, times_until(on, size, 0), habits)], rng)
    return student


def account(name: str) -> User:
    """A person who never signs in by a password."""
    return User.objects.create(username=name.lower().replace(" ", "-"), name=name, password="!")  # nosec B106 # no hash, so nothing matches


def skills_with_faults() -> list[Skill]:
    """The skills that can show a fault."""
    found = Skill.objects.filter(archived=False).prefetch_related("faults")
    return [skill for skill in found if skill.faults.all()]


def habits_of(skills: Sequence[Skill], number: int, rng: Random) -> list[Habit]:
    """What one student's coach looks at, and the usual fault of each. Raises ValueError for too many skills."""
    chosen = [(skill, list(skill.faults.all())) for skill in rng.sample(skills, number)]
    return [Habit(skill, rng.choice(faults), faults) for skill, faults in chosen]


def times_until(on: date, size: Size, student: int) -> list[datetime]:
    """When a student has lessons, oldest first, each student on days of their own."""
    step = size.days / size.lessons
    last = datetime.combine(on, time(8 + student % 10), UTC) - timedelta(days=1 + student % max(1, int(step)))
    return [last - timedelta(days=int(step * number)) for number in reversed(range(size.lessons))]


# --- Into the database --------------------------------------------------------------------------


@transaction.atomic
def write(plans: Sequence[Plan], rng: Random) -> None:
    """Write the complete lessons of some students, with looks, observations, faults, care and two focuses each."""
    Care.objects.bulk_create(Care(coach=plan.coach, student=plan.student, since=plan.times[0].date()) for plan in plans)
    lessons = [write_lessons(plan) for plan in plans]
    shown = list(chain.from_iterable(seen_by(plan, rng) for plan in plans))
    write_looks(list(chain.from_iterable(lessons)), shown)
    Focus.objects.bulk_create(chain.from_iterable(map(focuses_of, plans, lessons)))


def write_lessons(plan: Plan) -> list[Lesson]:
    """A student's complete lessons, each in a session of its own."""
    sessions = Session.objects.bulk_create(Session(coach=plan.coach, starts_at=at) for at in plan.times)
    told = (
        Lesson.PracticeReported.SOME,
        Lesson.PracticeReported.NOT_ASKED,
        Lesson.PracticeReported.MOST,
        Lesson.PracticeReported.NONE,
        Lesson.PracticeReported.ALL,
    )
    done = {"status": Lesson.Status.COMPLETE}
    return Lesson.objects.bulk_create(
        Lesson.for_student(
            plan.student, session, completed_at=session.starts_at, practice_reported=told[n % len(told)], **done
        )
        for n, session in enumerate(sessions)
    )


def seen_by(plan: Plan, rng: Random) -> Iterable[list[tuple[Skill, Shown]]]:
    """For each look of each lesson what it shows of each skill: less and less, and less on departure."""
    for number in range(len(plan.times)):
        often = 0.6 - 0.5 * number / len(plan.times)
        for share in (often, often / 2):
            yield [(habit.skill, shown_of(habit, share, rng)) for habit in plan.habits]


def shown_of(habit: Habit, share: float, rng: Random) -> Shown:
    """What one look shows of one skill."""
    if rng.random() >= share:
        return None
    fault = rng.choice(habit.faults) if rng.random() < RARE else habit.usual
    return fault, rng.choice(SeenFault.Degree.values)


def write_looks(lessons: Sequence[Lesson], shown: Sequence[list[tuple[Skill, Shown]]]) -> None:
    """An arrival and a departure for each lesson, and what each of them showed."""
    looks = Look.objects.bulk_create(Look(lesson=lesson, kind=kind) for lesson in lessons for kind in KINDS)
    told = [(look, skill, fault) for look, row in zip(looks, shown, strict=True) for skill, fault in row]
    observations = Observation.objects.bulk_create(
        Observation(look=look, skill=skill, verdict="not_good" if fault else "good") for look, skill, fault in told
    )
    SeenFault.objects.bulk_create(
        SeenFault(observation=observation, fault=fault[0], degree=fault[1])
        for observation, (_, _, fault) in zip(observations, told, strict=True)
        if fault
    )


def focuses_of(plan: Plan, lessons: Sequence[Lesson]) -> list[Focus]:
    """Two focuses, on the usual faults of the first two skills, taken on after a third of the lessons."""
    opened = lessons[len(lessons) // 3]
    return [
        Focus(student=plan.student, slot=slot, area=habit.skill.area, fault=habit.usual, opened_in=opened)
        for slot, habit in zip((1, 2), plan.habits, strict=False)
    ]
