"""Which skills and faults a person sees here and may change: those that the academy has not taken in are a coach's own.

The records of students show the names of all that was logged, whoever owns it.
"""

from django.core.exceptions import PermissionDenied
from django.db.models import Q, QuerySet
from django.shortcuts import get_object_or_404

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import User
from coachbook.http import Request
from drills.library.access import coach_of
from lessons.models import Fault, Skill

Row = Skill | Fault
MODELS: dict[str, type[Skill] | type[Fault]] = {"skill": Skill, "fault": Fault}


def kind_of(row: Row) -> str:
    """What a row is called in an address."""
    return "skill" if isinstance(row, Skill) else "fault"


def readable_skills(request: Request) -> QuerySet[Skill]:
    """The academy's and one's own; to a manager all."""
    return Skill.objects.filter(of_academy_or_own(request.user))


def readable_faults(request: Request) -> QuerySet[Fault]:
    """The same of faults."""
    return Fault.objects.filter(of_academy_or_own(request.user))


def of_academy_or_own(user: User) -> Q:
    """The condition that a person reads a row here."""
    return Q() if user.is_manager else Q(owner=None) | Q(owner=coach_of(user))


def get_row(request: Request, kind: str, code: str) -> Row:
    """A skill or fault that this person reads here; 404 for every other."""
    gate.require(request, Permission.EDIT_LIBRARY)
    if kind == "skill":
        return get_object_or_404(readable_skills(request).select_related("owner__user", "merged_into"), code=code)
    joined = ("skill__merged_into", "owner__user", "merged_into__skill__merged_into")
    return get_object_or_404(readable_faults(request).select_related(*joined), code=code)


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
    return user.is_manager if row.owner is None else row.owner.user_id == user.pk


def area_of(row: Row) -> str:
    """The area of a skill, or of a fault's skill."""
    return row.area if isinstance(row, Skill) else row.skill.area
