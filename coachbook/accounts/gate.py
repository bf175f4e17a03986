"""The one gate: who may see and do what. Every view asks it on its first line; nothing else decides."""

import uuid
from datetime import date
from enum import StrEnum
from functools import lru_cache, reduce
from operator import or_
from typing import TypeVar

from django.core.exceptions import PermissionDenied
from django.db.models import Model, Q, QuerySet
from django.http import Http404
from django.utils import timezone

from coachbook.accounts.models import Academy, Coach, Student, StudentQuerySet, User
from coachbook.accounts.relationships import Relationship, Viewer, junior_condition, relationship_conditions
from coachbook.http import Request

Row = TypeVar("Row", bound=Model)


class Permission(StrEnum):
    """What a person may want to do."""

    USE_SITE = "use the site at all"
    READ_RECORD = "see a student's page and record"
    LOG_LESSONS = "log lessons and issue sheets"
    READ_NOTES = "read what coaches write for coaches"
    REPORT_PRACTICE = "report practice"
    RECORD_SCORES = "record scored tests and rounds"
    SEND_MESSAGES = "write into a student's thread of messages"
    GIVE_CONSENT = "give consent for a student, and withdraw it"
    EDIT_STUDENT = "change a student's details and invite them"
    MANAGE_COACHES = "add and remove the coaches of a student"
    SCHEDULE = "make appointments with a student"
    REPORT_ABSENCE = "report that a student cannot come"
    EXPORT_RECORD = "save everything about a student as a file"
    ERASE_RECORD = "ask that everything about a student be erased, and call it off"
    CORRECT = "correct what was recorded wrongly about a student"
    VIEW_DIARY = "see a coach's days"
    ACT_AS_COACH = "lead a group, and have a calendar link"
    ADD_STUDENT = "add a new student"
    ADD_PHRASES = "add words by which a note is understood"
    EDIT_LIBRARY = "add and change skills, faults and drills of one's own"
    MANAGE_LIBRARY = "change, order, merge and archive what the academy offers in its library"
    MANAGE_ACADEMY = "invite people, close accounts and see every coach's caseload"


JUNIOR = "is_junior_today"  # the name of an annotation
UNNAMED = "A student"  # in place of the name of one who is out of reach
COACHES = frozenset({Relationship.MAIN_COACH, Relationship.COVERING_COACH, Relationship.ASSISTANT_COACH})
FAMILY = frozenset({Relationship.SELF, Relationship.GUARDIAN})
MANAGER = frozenset({Relationship.MANAGER})
POLICY: dict[Permission, frozenset[Relationship]] = {
    Permission.USE_SITE: frozenset({Relationship.SIGNED_IN}),
    Permission.READ_RECORD: FAMILY | COACHES | MANAGER,
    Permission.LOG_LESSONS: COACHES,
    Permission.READ_NOTES: COACHES | MANAGER,
    Permission.REPORT_PRACTICE: FAMILY,
    Permission.RECORD_SCORES: FAMILY | COACHES,
    Permission.SEND_MESSAGES: FAMILY | COACHES | MANAGER,
    Permission.GIVE_CONSENT: frozenset({Relationship.ADULT_SELF, Relationship.GUARDIAN}),
    Permission.EDIT_STUDENT: frozenset({Relationship.MAIN_COACH, Relationship.COVERING_COACH}) | MANAGER,
    Permission.MANAGE_COACHES: frozenset({Relationship.MAIN_COACH}) | MANAGER,
    Permission.SCHEDULE: COACHES | MANAGER,
    Permission.REPORT_ABSENCE: FAMILY | COACHES | MANAGER,
    Permission.CORRECT: COACHES | MANAGER,
    Permission.EXPORT_RECORD: FAMILY | MANAGER,
    Permission.ERASE_RECORD: frozenset({Relationship.ADULT_SELF, Relationship.GUARDIAN}) | MANAGER,
    Permission.VIEW_DIARY: frozenset({Relationship.ANY_COACH}) | MANAGER,
    Permission.ACT_AS_COACH: frozenset({Relationship.ANY_COACH}),
    Permission.ADD_STUDENT: frozenset({Relationship.ANY_COACH}) | MANAGER,
    Permission.ADD_PHRASES: frozenset({Relationship.ANY_COACH}) | MANAGER,
    Permission.EDIT_LIBRARY: frozenset({Relationship.ANY_COACH}) | MANAGER,
    Permission.MANAGE_LIBRARY: MANAGER,
    Permission.MANAGE_ACADEMY: MANAGER,
}


def require(request: Request, permission: Permission) -> None:
    """Let the person do something that concerns no one student, or answer 403."""
    if not has_permission(request.user, permission):
        raise PermissionDenied


def has_permission(user: User, permission: Permission) -> bool:
    """Whether a person may do something that concerns no one student."""
    relationships = {Relationship.SIGNED_IN}
    if user.is_coach:
        relationships.add(Relationship.ANY_COACH)
    if user.is_manager:
        relationships.add(Relationship.MANAGER)
    return bool(relationships & POLICY[permission])


def get_students(request: Request, permission: Permission = Permission.READ_RECORD) -> StudentQuerySet:
    """The students for whom the person has this permission today."""
    return students_with(conditions_today(request), permission)


def get_students_of_coach(coach: Coach, academy: Academy, permission: Permission, on: date) -> StudentQuerySet:
    """The same for a coach who is not signed in, but whose calendar is read by a secret link."""
    return students_with(relationship_conditions(Viewer.of(coach.user), academy, on), permission)


def students_with(conditions: dict[Relationship, Q], permission: Permission) -> StudentQuerySet:
    """The students for whom one of the conditions holds that grant a permission."""
    allowed = [condition for relationship, condition in conditions.items() if relationship in POLICY[permission]]
    return Student.objects.present().filter(reduce(or_, allowed, Q(pk__in=[])))


def get_student(request: Request, permission: Permission, key: uuid.UUID) -> Student:
    """The student, if the person has this permission; 404 to a stranger, 403 to one who may see but not do it.

    The row carries the person's relationships as annotations: `viewer_is_self`, `viewer_is_guardian` and so on.
    """
    today = request.academy.today(timezone.now())
    student = students_seen_by(Viewer.of(request.user), request.academy.adult_at, today).filter(key=key).first()
    relationships = relationships_of(student)
    if student is None or not relationships & POLICY[Permission.READ_RECORD]:
        raise Http404
    if not relationships & POLICY[permission]:
        raise PermissionDenied
    if getattr(student, JUNIOR) and not relationships & (COACHES | FAMILY):
        request.juniors_read.append(student)
    return student


@lru_cache(maxsize=500)
def students_seen_by(viewer: Viewer, adult_at: int, on: date) -> StudentQuerySet:
    """All students with the person's relationships to each; kept, since it takes longer to write than to ask."""
    academy = Academy(adult_at=adult_at)
    conditions = relationship_conditions(viewer, academy, on)
    annotations = {viewer_is(relationship): condition for relationship, condition in conditions.items()}
    annotations[JUNIOR] = junior_condition(academy, on)
    return Student.objects.present().annotate(**annotations).select_related("user").order_by("pk")


def note_readings(request: Request, students: StudentQuerySet) -> None:
    """Note that a manager reads the records of these juniors, where a page shows several students."""
    request.juniors_read += students.filter(junior_today(request))


def get_or_new_student(request: Request, permission: Permission, key: uuid.UUID) -> Student:
    """The student at this address, or an unsaved one for a person who may add one."""
    if Student.objects.filter(key=key).exists():
        return get_student(request, permission, key)
    require(request, Permission.ADD_STUDENT)
    return Student(key=key)


def own_or_new(rows: QuerySet[Row], key: uuid.UUID) -> Row | None:
    """The row with this key among these, or None at a fresh address; 404 where it belongs to somebody else."""
    row = rows.filter(key=key).first()
    if row is None and rows.model._default_manager.filter(key=key).exists():
        raise Http404
    return row


def is_allowed(student: Student, permission: Permission) -> bool:
    """Whether the person for whom the student was read has this permission: for what a page offers, not as a check."""
    return bool(relationships_of(student) & POLICY[permission])


def relationships_of(student: Student | None) -> set[Relationship]:
    """The relationships that were annotated on a student's row when it was read."""
    return {relationship for relationship in Relationship if getattr(student, viewer_is(relationship), False)}


def viewer_is(relationship: Relationship) -> str:
    """The name of the annotation for a relationship."""
    return f"viewer_is_{relationship.name.lower()}"


def junior_today(request: Request) -> Q:
    """The condition that somebody else decides for a student today."""
    return junior_condition(request.academy, request.academy.today(timezone.now()))


def conditions_today(request: Request) -> dict[Relationship, Q]:
    """The condition of each relationship of the person, as it holds today."""
    return relationship_conditions(Viewer.of(request.user), request.academy, request.academy.today(timezone.now()))
