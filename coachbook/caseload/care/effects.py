"""What other care comes to for appointments: which it touches, and who may keep them or take them over."""

from collections.abc import Collection, Sequence
from datetime import date, datetime
from typing import Any

from django.db.models import Q

from coachbook.accounts.models import Academy, Area, Care, Coach, Student
from coachbook.caseload.care.second_coach import main_cares_among
from coachbook.diary.following.acts import another_coach
from coachbook.diary.following.touched import Choice, Effect, coming, day_of, is_in_force, teaches
from coachbook.diary.models import Appointment

MOVED = (Choice.MOVE, Choice.KEEP, Choice.OUT, Choice.CANCEL)
KEPT = (Choice.KEEP, Choice.MOVE, Choice.OUT, Choice.CANCEL)


def effect_of_move(
    student: Student,
    cares: Sequence[Care],
    academy: Academy,
    at: datetime,
    *,
    to: Coach,
    since: date,
    areas: Collection[Area],
) -> Effect:
    """Another main coach takes the lessons of those whose care ends; who keeps an area or other care may keep them."""
    before = [care for care in cares if care.role == Care.Role.MAIN and (care.until is None or care.until >= since)]
    moved = set(areas or {area for care in before for area in care.areas} or Area)
    losing = {care.coach_id for care in before if moved.intersection(care.areas)} - {to.pk}
    staying = [care for care in cares if care.role != Care.Role.MAIN or set(care.areas) - moved]
    rows = coming(academy, at, since).filter(students=student, coach__in=losing)
    return Effect(
        rows,
        KEPT if any(care.role == Care.Role.MAIN for care in staying if care.coach_id in losing) else MOVED,
        lambda row, one: one == student,
        new_coach=lambda row, students: to,
        may_keep=lambda row, students: teaches(staying, row.coach_id, students, day_of(row)),
    )


def effect_of_hand_over(
    coach: Coach,
    cares: Sequence[Care],
    academy: Academy,
    at: datetime,
    *,
    to: Coach,
    since: date,
    until: date | None,
    **_: Any,
) -> Effect:
    """All students of a coach in other hands: for good, or until a last day, when the main coach may keep a lesson.

    `cares` is all care of the coach that reaches these days.
    """
    mains, others = main_cares_among(cares), [care for care in cares if care.role != Care.Role.MAIN]

    def concerns(row: Appointment, student: Student) -> bool:
        own, day = [care for care in mains if care.student_id == student.pk], day_of(row)
        return any(is_in_force(care, day) if until else care.since <= day for care in own)

    return Effect(
        coming(academy, at, since, until).filter(coach=coach),
        MOVED,
        concerns,
        new_coach=lambda row, students: to,
        may_keep=lambda row, students: until is not None or teaches(others, coach.pk, students, day_of(row)),
    )


def effect_of_cover(
    student: Student,
    cares: Sequence[Care],
    academy: Academy,
    at: datetime,
    *,
    coach: Coach,
    role: Care.Role,
    areas: Sequence[Area],
    since: date,
    until: date | None,
    **_: Any,
) -> Effect:
    """A covering coach takes the lessons of the main coach of these areas and days; an assistant takes none."""
    reaching = [care for care in cares if care.role == Care.Role.MAIN and (care.until is None or care.until >= since)]
    mains = {care.coach_id for care in reaching if set(care.areas) & set(areas)}
    covered = mains - {coach.pk} if role == Care.Role.COVER else set()
    near = list(coming(academy, at, since, until).filter(Q(students=student) | Q(coach=coach)).distinct())
    return Effect(
        [row for row in near if row.coach_id in covered],
        MOVED,
        lambda row, one: one == student,
        new_coach=lambda row, students: coach,
        may_keep=lambda row, students: True,
        beside=[row for row in near if row.coach_id == coach.pk],
    )


def effect_of_ending(care: Care, academy: Academy, at: datetime, on: date) -> Effect:
    """The lessons of a second coach whose care ends go to another coach of the student."""
    of_student = list(care.student.cares.exclude(pk=care.pk).select_related("coach__user"))
    others = [other for other in of_student if other.coach_id != care.coach_id and other.coach.user.is_active]
    rows = coming(academy, at, max(on, care.since), care.until).filter(students=care.student, coach=care.coach)
    return Effect(
        rows,
        MOVED,
        lambda row, one: one == care.student,
        new_coach=lambda row, students: another_coach(others, students, day_of(row)),
        may_keep=lambda row, students: teaches(of_student, care.coach_id, students, day_of(row)),
    )
