"""A small academy for the kills: five people who write, each in a way of their own."""

from dataclasses import dataclass
from typing import Any

from django.contrib.auth.hashers import make_password
from django.core.management import call_command
from django.test import override_settings

FAST = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STUDENTS, IN_A_GROUP = 30, 6


@dataclass(frozen=True)
class Academy:
    """Who writes what of whom."""

    log: str
    group: str
    scores: str
    practice: str
    message: str
    students: list[Any]
    members: list[Any]
    player: Any
    prescription: Any
    design: Any

    @property
    def people(self) -> list[str]:
        """Their names to sign in with."""
        return [self.log, self.group, self.scores, self.practice, self.message]


def make_academy() -> Academy:
    """Make the tables and everybody in them; Django is set up."""
    call_command("migrate", run_syncdb=True, verbosity=0)
    with override_settings(PASSWORD_HASHERS=FAST):
        made = make_people()
    give_passwords(made.people)
    return made


def make_people() -> Academy:
    """Coaches, students, and what they need to write."""
    from lessons.log import open_focus
    from tests import make

    make.make_academy()
    coach, other = make.make_coach("Ida Fernkettle"), make.make_coach("Bram Saltquill")
    messenger = make.make_coach("Noor Appleknot")
    fault = make.make_fault(make.make_skill("grip"), "apart")
    player = make.make_student("Petra Sallowpipit", coach=messenger, birth_year=1990)
    practiser = make.make_student("Alder Quimble", coach=messenger, birth_year=1990)
    given = {"status": "complete", "completed_at": "2026-06-01T11:00Z", "putting": True}
    lesson = make.make_lesson(practiser, messenger, **given)
    focus = open_focus(lesson=lesson, key=make.fresh_key(), values={"area": "putting", "fault": fault})
    return Academy(
        log=coach.user.username,
        group=other.user.username,
        scores=player.user.username,
        practice=practiser.user.username,
        message=messenger.user.username,
        students=[make.make_student(coach=coach, account=False, birth_year=1990) for _ in range(STUDENTS)],
        members=[make.make_student(coach=other, account=False, birth_year=1990) for _ in range(IN_A_GROUP)],
        player=player,
        prescription=make.make_prescription(lesson, focus, begins=make.academy_today()),
        design=make.make_design("counted", kind="counted", distances_m=[1.0]),
    )


def give_passwords(usernames: list[str]) -> None:
    """One password for all who sign in, hashed as the site does it."""
    from coachbook.accounts.models import User
    from tests.make import PASSWORD

    User.objects.filter(username__in=usernames).update(password=make_password(PASSWORD))
