"""A small academy for the schedules: coaches and students, who take turns: nobody sends more than anybody types."""

from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.test import Client

MANY = 5


@dataclass(frozen=True)
class Writer:
    """Somebody signed in: the value of their session's cookie, and of whom they write."""

    user: Any
    session: str
    student: Any
    prescription: Any = None

    @property
    def key(self) -> str:
        return str(self.user.key)


@dataclass(frozen=True)
class Academy:
    """Who writes, and the test that is recorded."""

    coaches: list[Writer]
    students: list[Writer]
    design: Any


def make_academy() -> Academy:
    """Make the tables and everybody in them; Django is set up."""
    from tests import make

    call_command("migrate", run_syncdb=True, verbosity=0)
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    make.make_academy()
    fault = make.make_fault(make.make_skill("grip"), "apart")
    coaches = [coach_writer(make) for _ in range(MANY)]
    for at, writer in enumerate(
        coaches
    ):  # what one leaves on a phone, the next one to sign in there could send as theirs
        make.make_care(coaches[(at + 1) % MANY].user.coach, writer.student, role="cover")
    students = [student_writer(make, fault) for _ in range(MANY)]
    return Academy(coaches, students, make.make_design("counted", kind="counted", distances_m=[1.0]))


def coach_writer(make: Any) -> Writer:
    coach = make.make_coach()
    student = make.make_student(coach=coach, account=False, birth_year=1990)
    return Writer(coach.user, session_of(coach.user), student)


def student_writer(make: Any, fault: Any) -> Writer:
    """A student with a drill to practise."""
    from lessons.log import open_focus

    coach = make.make_coach()
    student = make.make_student(coach=coach, birth_year=1990)
    lesson = make.make_lesson(student, coach, status="complete", completed_at="2026-06-01T11:00Z", putting=True)
    focus = open_focus(lesson=lesson, key=make.fresh_key(), values={"area": "putting", "fault": fault})
    begins = make.this_time(days_ago=3).date()
    return Writer(student.user, session_of(student.user), student, make.make_prescription(lesson, focus, begins=begins))


def session_of(user: Any) -> str:
    """A session made on the server's side."""
    client = Client()
    client.force_login(user)
    return client.cookies[settings.SESSION_COOKIE_NAME].value
