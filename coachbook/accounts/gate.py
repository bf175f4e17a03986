"""The one gate: who may see and do what. Every view asks it on its first line; nothing else decides."""

import uuid
from enum import StrEnum
from functools import reduce
from operator import or_

from django.core.exceptions import PermissionDenied
from django.db.models import Q
from django.http import Http404
from django.utils import timezone

from coachbook.accounts.models import Student, StudentQuerySet
from coachbook.accounts.relationships import Tie, tie_tests
from coachbook.http import Request


class Act(StrEnum):
    """What a person may want to do."""

    ENTER = "use the site at all"
    READ = "see a student's page and record"
    TEACH = "log lessons and issue sheets"
    NOTES = "read what coaches write for coaches"
    PRACTISE = "report practice"
    SCORE = "record scored tests and rounds"
    SPEAK = "write into a student's thread of messages"
    CONSENT = "give consent for a student, and withdraw it"
    ARRANGE = "change a student's details and invite them"
    LEND = "say who else teaches a student"
    BOOK = "make appointments with a student, and put right what was logged wrongly"
    PLAN = "keep a coach's days"
    HOLD = "hold a group, and have a calendar"
    ADD = "write a new student down"
    RUN = "invite people and close accounts"


EVERY_COACH = {Tie.MAIN, Tie.COVER, Tie.ASSISTANT}
POLICY: dict[Act, frozenset[Tie]] = {
    Act.ENTER: frozenset({Tie.ANYONE}),
    Act.READ: frozenset({Tie.SELF, Tie.GUARDIAN, *EVERY_COACH, Tie.MANAGER}),
    Act.TEACH: frozenset({*EVERY_COACH}),
    Act.NOTES: frozenset({*EVERY_COACH, Tie.MANAGER}),
    Act.PRACTISE: frozenset({Tie.SELF, Tie.GUARDIAN}),
    Act.SCORE: frozenset({Tie.SELF, Tie.GUARDIAN, *EVERY_COACH}),
    Act.SPEAK: frozenset({Tie.SELF, Tie.GUARDIAN, *EVERY_COACH, Tie.MANAGER}),
    Act.CONSENT: frozenset({Tie.OF_AGE, Tie.GUARDIAN}),
    Act.ARRANGE: frozenset({Tie.MAIN, Tie.COVER, Tie.MANAGER}),
    Act.LEND: frozenset({Tie.MAIN, Tie.MANAGER}),
    Act.BOOK: frozenset({*EVERY_COACH, Tie.MANAGER}),
    Act.PLAN: frozenset({Tie.STAFF, Tie.MANAGER}),
    Act.HOLD: frozenset({Tie.STAFF}),
    Act.ADD: frozenset({Tie.STAFF, Tie.MANAGER}),
    Act.RUN: frozenset({Tie.MANAGER}),
}


def enter(request: Request, act: Act) -> None:
    """Let the person do something that concerns no one student, or answer 403."""
    user = request.user
    ties = {Tie.ANYONE} | ({Tie.STAFF} if user.is_coach else set()) | ({Tie.MANAGER} if user.is_manager else set())
    if not ties & POLICY[act]:
        raise PermissionDenied


def students(request: Request, act: Act = Act.READ) -> StudentQuerySet:
    """The students with whom the person may do this, today."""
    tests = [test for tie, test in tests_now(request).items() if tie in POLICY[act]]
    return Student.objects.present().filter(reduce(or_, tests, Q(pk__in=[])))


def student(request: Request, act: Act, key: uuid.UUID) -> Student:
    """The student, if the person may do this; 404 to a stranger, 403 to one who may see but not do it."""
    marks = {f"tie_{tie.name}": test for tie, test in tests_now(request).items()}
    found = Student.objects.present().annotate(**marks).select_related("user").filter(key=key).first()
    ties = ties_of(found)
    if found is None or not ties & POLICY[Act.READ]:
        raise Http404
    if not ties & POLICY[act]:
        raise PermissionDenied
    return found


def tests_now(request: Request) -> dict[Tie, Q]:
    """The ties of the person, as they hold today."""
    return tie_tests(request.user, request.academy, request.academy.today(timezone.now()))


def ties_of(student: Student | None) -> set[Tie]:
    """The ties that were marked on a student's row when it was read."""
    return {tie for tie in Tie if getattr(student, f"tie_{tie.name}", False)}


def may(student: Student, act: Act) -> bool:
    """Whether the person for whom the student was read may do this: for what a page offers, not for what it allows."""
    return bool(ties_of(student) & POLICY[act])


def new_student(request: Request, act: Act, key: uuid.UUID) -> Student:
    """The student at this address, or an empty one there for a person who may write one down."""
    if Student.objects.filter(key=key).exists():
        return student(request, act, key)
    enter(request, Act.ADD)
    return Student(key=key)
