"""Which rows of the catalogue a person reads and may change: those that the academy has not taken in are a coach's own.

The records of students show the names of all that was logged, whoever owns it.
"""

from typing import Any

from django.core.exceptions import PermissionDenied
from django.db.models import Q, QuerySet
from django.shortcuts import get_object_or_404

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Coach, User
from coachbook.http import Request
from drills.models import Design, Drill, Prescription
from lessons.models import Fault, Lesson, Skill

Row = Skill | Fault | Drill | Design
MODELS: dict[str, type[Row]] = {"skill": Skill, "fault": Fault, "drill": Drill, "design": Design}
JOINED = ("owner__user", "merged_into")
OF_FAULTS = ("skill__merged_into", "merged_into__skill__merged_into")


def kind_of(row: Row) -> str:
    """What a row is called in an address."""
    return next(kind for kind, model in MODELS.items() if isinstance(row, model))


def readable(request: Request, model: type[Row]) -> QuerySet[Any]:
    """The academy's rows and one's own, and drills given to a student whose record one reads; to a manager all."""
    rows = model._default_manager.select_related(*JOINED, *(OF_FAULTS if model is Fault else ()))
    if gate.has_permission(request.user, Permission.MANAGE_LIBRARY):
        return rows
    condition = Q(owner=None) | Q(owner__user=request.user)
    return rows.filter(condition | given_to_students(request) if model is Drill else condition)


def given_to_students(request: Request) -> Q:
    """The condition that a drill of a coach's own was given, in a finished lesson, to a student within reach."""
    students = gate.get_students(request).values("pk")
    given = Prescription.objects.filter(student__in=students, lesson__status=Lesson.Status.COMPLETE)
    return Q(pk__in=given.filter(drill__owner__isnull=False).values("drill"))


def get_row(request: Request, kind: str, code: str) -> Row:
    """A row that this person reads; 404 for every other. For coaches and managers alone."""
    gate.require(request, Permission.EDIT_LIBRARY)
    row: Row = get_object_or_404(readable(request, MODELS[kind]), code=code)
    return row


def get_drill(request: Request, code: str) -> Drill:
    """A drill that this person reads, who may be a student; 404 for every other."""
    gate.require(request, Permission.USE_SITE)
    drill: Drill = get_object_or_404(readable(request, Drill), code=code)
    return drill


# --- To change ------------------------------------------------------------------------------------


def get_row_to_change(request: Request, kind: str, code: str) -> Row:
    """One that this person may change; 404 for one they do not read, 403 for one that they only read."""
    row = get_row(request, kind, code)
    if not may_change(request.user, row):
        raise PermissionDenied
    return row


def get_own_row(request: Request, kind: str, code: str) -> Row:
    """One of the coach's own; 403 for one that is the academy's."""
    row = get_row_to_change(request, kind, code)
    if row.owner is None:
        raise PermissionDenied
    return row


def may_change(user: User, row: Row) -> bool:
    """Whether a person may change a row: managers those of the academy, a coach their own."""
    if row.owner is None:
        return gate.has_permission(user, Permission.MANAGE_LIBRARY)
    return row.owner.user_id == user.pk


def coach_of(user: User) -> Coach | None:
    """The coach that somebody is, if any."""
    return user.coach if user.is_coach else None


# --- To manage ------------------------------------------------------------------------------------


def get_row_to_manage(request: Request, kind: str, code: str) -> Row:
    """A row of the academy's, or one that is or was offered to it; 403 for what is a coach's own alone."""
    gate.require(request, Permission.MANAGE_LIBRARY)
    row = get_row(request, kind, code)
    if row.owner is not None and row.offered_at is None and row.merged_into is None:
        raise PermissionDenied
    return row


def get_offered_row(request: Request, kind: str, code: str) -> Row:
    """A row that a coach offers; 403 for any other."""
    row = get_row_to_manage(request, kind, code)
    if row.owner is None or row.offered_at is None:
        raise PermissionDenied
    return row


def get_row_of_academy(request: Request, kind: str, code: str) -> Row:
    """A row of the academy's; 403 for any other."""
    row = get_row_to_manage(request, kind, code)
    if row.owner is not None:
        raise PermissionDenied
    return row
