"""Who else teaches a student: cover and assistant coaches, and the whole of a caseload in other hands."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db import transaction
from django.db.models import Q, QuerySet

from coachbook.accounts.models import Academy, Area, Care, Coach, Consent, Student, User
from coachbook.accounts.relationships import junior_condition, junior_consent_condition
from coachbook.caseload.care.assignments import area_columns, deciding, move_student, save_care

SECOND = (Care.Role.COVER, Care.Role.ASSISTANT)


@dataclass(frozen=True)
class CoachesByTime:
    """Everybody's care of a student, by the day: now, planned, and over."""

    now: list[Care]
    later: list[Care]
    earlier: list[Care]

    @property
    def all(self) -> list[Care]:
        """All of it."""
        return [*self.now, *self.later, *self.earlier]


def coaches_by_time(student: Student, on: date) -> CoachesByTime:
    """Who teaches a student on a day, who will, and who did."""
    cares = list(student.cares.select_related("coach__user").order_by("-since", "pk"))
    over = [care for care in cares if care.until and care.until < on]
    later = [care for care in reversed(cares) if care.since > on]
    return CoachesByTime([care for care in cares if care not in over and care not in later], later, over)


def without_consent_to_share(students: QuerySet[Student], academy: Academy, on: date) -> QuerySet[Student]:
    """The juniors among some students whose record no second coach sees, for want of a consent."""
    return students.filter(lacks_consent_to_share(academy, on))


def lacks_consent_to_share(academy: Academy, on: date) -> Q:
    """The condition that no second coach sees a student's record, for want of a consent."""
    return junior_condition(academy, on) & ~junior_consent_condition(Consent.Purpose.SHARING, on)


def overlapping(cares: QuerySet[Care], since: date, until: date | None) -> QuerySet[Care]:
    """The care that holds on some day of a time."""
    begun = cares.filter(since__lte=until) if until else cares
    return begun.filter(Q(until=None) | Q(until__gte=since))


@transaction.atomic
def add_second_coach(
    *,
    student: Student,
    coach: Coach,
    role: Care.Role,
    areas: Collection[Area],
    since: date,
    until: date | None,
    note: str,
    by: User,
) -> Care:
    """Let a second coach teach a student for some areas and days; the very same care is given once."""
    Student.objects.select_for_update().get(pk=student.pk)  # the same page posted twice: one after the other
    days = {"since": since, "until": until, "note": note, **area_columns(areas)}
    care = Care(coach=coach, student=student, role=role, **days)
    return student.cares.filter(coach=coach, role=role, **days).first() or save_care(care, by)


@transaction.atomic
def end_care(*, care: Care, on: date, by: User) -> None:
    """End a second coach's care at once; care that begins only today or later is taken back."""
    if care.since < on:
        care.until = on - timedelta(days=1)
        save_care(care, by)
    else:
        deciding(care, by).delete()


def main_cares_between(coach: Coach, since: date, until: date | None = None) -> QuerySet[Care]:
    """The main care of a coach that a hand-over reaches, the earliest first; who has left stays where they are."""
    cares = coach.cares.filter(role=Care.Role.MAIN, student__merged_into=None)
    cares = cares.exclude(student__status=Student.Status.LEFT).select_related("student")
    return overlapping(cares, since, until).order_by("since", "pk")


def main_cares_among(cares: Iterable[Care]) -> list[Care]:
    """Those of some cares, read with their students, that a hand-over reaches: as `main_cares_between` asks it."""
    left = Student.Status.LEFT
    mains = [care for care in cares if care.role == Care.Role.MAIN and care.student.merged_into_id is None]
    return [care for care in mains if care.student.status != left]


@transaction.atomic
def hand_over(*, coach: Coach, to: Coach, since: date, until: date | None, note: str, by: User) -> int:
    """Give all students of a coach to another one: for good, or until a last day as cover; how many they are."""
    Coach.objects.select_for_update().get(pk=coach.pk)  # two managers at once: one after the other
    if coach == to:
        raise ValueError("A coach cannot take over from themselves.")
    students = (
        add_covering_coach_for_all(coach, to, since, until, note, by)
        if until
        else move_all_students(coach, to, since, note, by)
    )
    return len(students)


def move_all_students(coach: Coach, to: Coach, since: date, note: str, by: User) -> set[int]:
    """Move every student of a coach; care that is planned for later moves on its own first day."""
    students = set()
    # One move may cut other care of the same coach to size, so each is read as it stands by then.
    while care := main_cares_between(coach, since).first():
        day = max(since, care.since)
        move_student(student=care.student, to=to, since=day, areas=care.areas, note=note, by=by)
        students.add(care.student_id)
    return students


def add_covering_coach_for_all(coach: Coach, to: Coach, since: date, until: date, note: str, by: User) -> set[int]:
    """Cover every student of a coach, for no longer than they are in that care."""
    students = set()
    for care in main_cares_between(coach, since, until):
        days = {"since": max(since, care.since), "until": min(until, care.until or until)}
        add_second_coach(
            student=care.student, coach=to, role=Care.Role.COVER, areas=care.areas, note=note, by=by, **days
        )
        students.add(care.student_id)
    return students
