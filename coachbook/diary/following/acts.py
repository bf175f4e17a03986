"""What a pause, leaving and the closing of an account come to for appointments."""

from datetime import date, datetime

from coachbook.accounts.models import Academy, Care, Coach, Student, User
from coachbook.diary.following.touched import Choice, Effect, coming, day_of, teaches
from coachbook.diary.models import Appointment

CANCELLED = (Choice.CANCEL, Choice.OUT)


def effect_of_pause(student: Student, academy: Academy, at: datetime, since: date, until: date | None) -> Effect:
    """A pause cancels the student's lessons of its days, unless somebody keeps one."""
    rows = coming(academy, at, since, until).filter(students=student)
    return Effect(rows, CANCELLED, lambda row, one: one == student, may_keep=lambda row, students: True)


def effect_of_leaving(student: Student, academy: Academy, at: datetime) -> Effect:
    """Who has left comes to no lesson."""
    rows = coming(academy, at, academy.today(at)).filter(students=student)
    return Effect(rows, CANCELLED, lambda row, one: one == student)


def effect_of_closing(user: User, academy: Academy, at: datetime) -> Effect:
    """Lessons of a coach go to another coach of the same students; those of a student go on without the account."""
    rows, on = coming(academy, at, academy.today(at)), academy.today(at)
    if not user.is_coach:
        preferred = (Choice.KEEP, *CANCELLED)
        rows = rows.filter(students__user=user)
        return Effect(rows, preferred, lambda row, one: one.user_id == user.pk, may_keep=lambda row, students: True)
    taught = Appointment.students.through._default_manager.filter(appointment__in=rows.filter(coach=user.coach))
    cares = Care.objects.filter(student__in=taught.values("student"), coach__user__is_active=True)
    others = list(cares.exclude(coach=user.coach).reaching(on).select_related("coach__user").order_by("pk"))

    def new_coach(row: Appointment, students: list[Student]) -> Coach | None:
        return another_coach(others, students, day_of(row))

    return Effect(rows.filter(coach=user.coach), (Choice.MOVE, *CANCELLED), new_coach=new_coach)


def another_coach(cares: list[Care], students: list[Student], day: date) -> Coach | None:
    """A coach who has all the students on a day, the main coach of one of them before others."""
    by_role = sorted(cares, key=lambda care: (care.role != Care.Role.MAIN, care.role != Care.Role.COVER, care.pk))
    return next((care.coach for care in by_role if teaches(cares, care.coach_id, students, day)), None)
