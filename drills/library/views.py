"""The drill library: a search among its drills, and one drill in full, worded for the reader's side."""

from collections.abc import Iterable
from typing import Any, NamedTuple

from django.db.models import Q, QuerySet
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET
from django.views.decorators.vary import vary_on_headers

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Area, Side, Student, User
from coachbook.http import Request
from drills.library.forms import SearchForm
from drills.library.rows.access import coach_of, get_drill, may_change
from drills.library.rows.offers import word_of
from drills.library.search import items_in
from drills.models import Drill
from lessons.models import Fault

UNFOLDED = 30  # drills that a page lists at once; more are folded away by kind


class Shelf(NamedTuple):
    """The drills of one area that were found, by kind."""

    area: Area
    side: Side | None
    kinds: list[tuple[str, list[Drill]]]


@require_GET
@vary_on_headers("HX-Request")
def drills(request: Request) -> HttpResponse:
    """The drills by area and kind, and a search among them."""
    gate.require(request, Permission.USE_SITE)
    user, student = request.user, student_of(request)
    rows = list(listed_drills(user, request.GET.get("whose", "")).prefetch_related("fits"))
    form = SearchForm(request.GET, user=user, faults=faults_for(user), items=items_in(rows))
    search = form.search
    found = [row for row in rows if search.finds(row, side_for(user, student, row.area))]
    by_area = [(area, [row for row in found if row.area == area]) for area in Area]
    context = {
        "form": form,
        "by_area": [Shelf(area, side_for(user, student, area), by_kind(rows)) for area, rows in by_area if rows],
        "found": len(found),
        "total": len(rows),
        "is_folded": len(found) > UNFOLDED,
        "is_staff": user.is_coach or user.is_manager,
    }
    template = "drills/library/found.html" if request.htmx else "drills/library/drills.html"
    return render(request, template, context, status=422 if form.errors else 200)


@require_GET
def drill(request: Request, code: str) -> HttpResponse:
    """One drill in full: a student reads it for their own side, anybody else for the side they choose."""
    context = drill_context(request, get_drill(request, code))
    return render(request, "drills/library/drill.html", context)


def drill_context(request: Request, drill: Drill) -> dict[str, Any]:
    """What the page of a drill needs."""
    chosen = request.GET.get("side", "")
    own_side = side_for(request.user, student_of(request), drill.area)
    is_staff = request.user.is_coach or request.user.is_manager
    fits = drill.fits.select_related("fault__skill").order_by("fault__skill__position", "fault")
    return {
        "drill": drill,
        "row": drill,
        "kind": "drill",
        "side": chosen if chosen in Side.values else own_side,
        "sides": Side.values,
        "is_staff": is_staff,
        "may_change": may_change(request.user, drill),
        "is_own": drill.owner is not None and drill.owner.user_id == request.user.pk,
        "manages": gate.has_permission(request.user, Permission.MANAGE_LIBRARY),
        "fits": fits if is_staff else [],
        "word": word_of(drill) if is_staff else "",
    }


def listed_drills(user: User, whose: str) -> QuerySet[Drill]:
    """The drills among which somebody searches: those that are offered, one's own, coaches' own, or archived ones."""
    coach, is_in_use = coach_of(user), Q(archived=False)
    own = Q(owner=coach) if coach else Q(pk__in=[])
    academy = Q(owner=None) if user.is_manager else Q(pk__in=[])
    if whose == "own":
        return Drill.objects.filter(own & is_in_use)
    if whose == "offered" and user.is_manager:
        return Drill.objects.filter(is_in_use, owner__isnull=False, offered_at__isnull=False)
    if whose == "coaches" and user.is_manager:
        return Drill.objects.filter(is_in_use, owner__isnull=False)
    if whose == "archived":
        return Drill.objects.filter(own | academy, archived=True, merged_into=None)
    return Drill.offered_to(coach)


def faults_for(user: User) -> QuerySet[Fault]:
    """The faults by which somebody may search: none for a student, who never reads their names."""
    if not (user.is_coach or user.is_manager):
        return Fault.objects.none()
    return Fault.offered_to(coach_of(user)).filter(skill__archived=False).select_related("skill")


def by_kind(drills: Iterable[Drill]) -> list[tuple[str, list[Drill]]]:
    """Drills under the name of their kind, in the order in which a log offers the kinds."""
    groups = {kind: [row for row in drills if row.kind == kind] for kind in Drill.Kind}
    return [(kind.label, rows) for kind, rows in groups.items() if rows]


def student_of(request: Request) -> Student | None:
    """The student for whom somebody reads: themselves or their child; None for coaches and managers."""
    user = request.user
    if user.is_coach or user.is_manager:
        return None
    return getattr(user, "student", None) or gate.get_students(request).order_by("pk").first()


def side_for(user: User, student: Student | None, area: str) -> Side | None:
    """The side for which a text is worded: the student's own; None for lead and trail, for coaches and managers."""
    if user.is_coach or user.is_manager:
        return None
    return student.side(area) if student else Side.RIGHT
