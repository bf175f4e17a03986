"""The coming appointments of a duplicate: what may become of them when it is merged, and what clashes then."""

from dataclasses import replace
from datetime import date, datetime

from django.db.models import Q
from django.utils import timezone

from coachbook.accounts.models import Academy, Care, Coach, Student
from coachbook.diary.following.acts import another_coach
from coachbook.diary.following.touched import Choice, Effect, Touched, coming, day_of, is_in_force, teaches, touched_by
from coachbook.diary.models import Appointment
from coachbook.diary.scheduling import overlaps

KEPT = (Choice.KEEP, Choice.MOVE, Choice.OUT, Choice.CANCEL)


def touched_by_merge(duplicate: Student, into: Student, academy: Academy, at: datetime) -> list[Touched]:
    """The coming appointments of the duplicate, and where the other student has one at that time."""
    on = academy.today(at)
    cares = list(Care.objects.filter(student__in=[duplicate, into]).select_related("coach__user").order_by("pk"))
    coaches = {care.coach_id for care in cares if care.student_id == into.pk}
    concerned = Q(students__in=[duplicate, into]) | Q(coach__in=coaches)
    near = list(coming(academy, at, on).filter(concerned).distinct())
    theirs = [row for row in near if into in row.students.all()]
    own = [row for row in near if row not in theirs and duplicate in row.students.all()]
    found = touched_by(replace(effect_of_merge(own, cares, duplicate, into, on), beside=near), at)
    return [replace(row, clash=clash_with(row, into, theirs) or row.clash) for row in found]


def effect_of_merge(
    rows: list[Appointment], of_both: list[Care], duplicate: Student, into: Student, on: date
) -> Effect:
    """They stay with their coach, who becomes an assistant coach of the other student, unless that care is over."""
    cares = [care for care in of_both if care.student_id == into.pk]
    known = {care.coach_id for care in cares if is_in_force(care, on)}
    joining = [care for care in of_both if care not in cares and is_in_force(care, on) and care.coach_id not in known]
    after = [*cares, *(replace_student(care, into) for care in joining)]
    active = [care for care in cares if care.coach.user.is_active]

    def new_coach(row: Appointment, students: list[Student]) -> Coach | None:
        others = [care for care in active if care.coach_id != row.coach_id]
        return another_coach(others, [into], day_of(row))

    return Effect(
        rows,
        KEPT,
        lambda row, one: one == duplicate,
        new_coach,
        may_keep=lambda row, students: teaches(after, row.coach_id, [into], day_of(row)),
    )


def replace_student(care: Care, student: Student) -> Care:
    """The care as the merge moves it; not saved."""
    care.student = student
    return care


def clash_with(touched: Touched, into: Student, theirs: list[Appointment]) -> str:
    """That the other student has an appointment at that time, or an empty text."""
    own = touched.appointment
    for row in theirs:
        if overlaps(row, own.starts_at, own.minutes):
            return f"{into} has an appointment with {row.coach} then, at {timezone.localtime(row.starts_at):%H:%M}."
    return ""
