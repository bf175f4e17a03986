"""Which drills a person sees and may change: those that the academy has not taken in are a coach's own."""

from django.core.exceptions import PermissionDenied
from django.db.models import Q, QuerySet
from django.shortcuts import get_object_or_404

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Coach, User
from coachbook.http import Request
from drills.models import Drill, Prescription
from lessons.models import Lesson


def readable_drills(request: Request) -> QuerySet[Drill]:
    """The academy's drills, one's own, and those given to a student whose record one reads; to a manager all."""
    if gate.has_permission(request.user, Permission.MANAGE_LIBRARY):
        return Drill.objects.all()
    students = gate.get_students(request).values("pk")
    given = Prescription.objects.filter(student__in=students, lesson__status=Lesson.Status.COMPLETE)
    return Drill.objects.filter(
        Q(owner=None) | Q(owner__user=request.user) | Q(pk__in=given.filter(drill__owner__isnull=False).values("drill"))
    )


def get_drill(request: Request, code: str) -> Drill:
    """A drill that this person may read; 404 for every other."""
    gate.require(request, Permission.USE_SITE)
    return get_object_or_404(readable_drills(request).select_related("owner__user"), code=code)


def get_drill_to_edit(request: Request, code: str) -> Drill:
    """A drill that this person may change; 404 for one they may not read, 403 for one that they only read."""
    gate.require(request, Permission.EDIT_LIBRARY)
    drill = get_drill(request, code)
    if not may_edit(request.user, drill):
        raise PermissionDenied
    return drill


def get_own_drill(request: Request, code: str) -> Drill:
    """A drill of the coach's own; 404 for one they may not read, 403 for one that is another's or the academy's."""
    drill = get_drill_to_edit(request, code)
    if drill.owner is None:
        raise PermissionDenied
    return drill


def may_edit(user: User, drill: Drill) -> bool:
    """Whether a person may change a drill: managers those of the academy, a coach their own."""
    if drill.owner is None:
        return gate.has_permission(user, Permission.MANAGE_LIBRARY)
    return drill.owner.user_id == user.pk


def coach_of(user: User) -> Coach | None:
    """The coach that somebody is, if any."""
    return user.coach if user.is_coach else None
