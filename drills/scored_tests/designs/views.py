"""The designs of scored tests: those of the academy, which managers edit, and those of a coach's own."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db.models import Count, Q, QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Area, User
from coachbook.forms import render_form
from coachbook.http import Request
from drills.library.access import coach_of
from drills.models import Design
from drills.scored_tests.designs.forms import DesignForm

COPIED_FIELDS = ("kind", "area", "setup", "note", "distances_m", "balls", "width_m", "caution")


@require_GET
def designs(request: Request) -> HttpResponse:
    """The designs by area, and the kinds for a new one: all of them for managers, for a coach the academy's and own."""
    gate.require(request, Permission.EDIT_LIBRARY)
    found: QuerySet[Design] = readable_designs(request.user).annotate(recorded=Count("scored_tests"))
    rows = [
        (row, may_edit(request.user, row)) for row in found.select_related("owner__user").order_by("position", "pk")
    ]
    by_area = [(area, of_area) for area in Area if (of_area := [each for each in rows if each[0].area == area])]
    context = {
        "by_area": by_area,
        "kinds": Design.Kind.choices,
        "manages": gate.has_permission(request.user, Permission.MANAGE_LIBRARY),
    }
    return render(request, "drills/scored_tests/designs/designs.html", context)


@require_http_methods(["GET", "POST"])
def design_new(request: Request) -> HttpResponse:
    """Add a design; with a kind in the URL the form starts with the values of the first design of that kind."""
    gate.require(request, Permission.EDIT_LIBRARY)
    row = new_design(request.GET.get("kind", ""))
    row.owner = coach_of(request.user)
    return edit_design(request, row, "Another test")


@require_http_methods(["GET", "POST"])
def design(request: Request, code: str) -> HttpResponse:
    """Change a design. Tests that were recorded with it stay as they are."""
    row = get_design_to_edit(request, code)
    return edit_design(request, row, str(row))


@require_POST
def design_offer(request: Request, code: str) -> HttpResponse:
    """Offer a design of one's own to the academy."""
    row = get_own_design(request, code)
    row.offered_at = row.offered_at or timezone.now()
    row.save(update_fields=["offered_at"])
    messages.success(request, f"Offered to the academy: {row}. A manager takes it in.")
    return redirect("designs")


@require_POST
def design_keep(request: Request, code: str) -> HttpResponse:
    """Take an offer back."""
    row = get_own_design(request, code)
    row.offered_at = None
    row.save(update_fields=["offered_at"])
    messages.success(request, f"No longer offered: {row} is yours alone.")
    return redirect("designs")


@require_POST
def design_take_in(request: Request, code: str) -> HttpResponse:
    """Make a design that a coach offers the academy's, unless its name is taken."""
    gate.require(request, Permission.MANAGE_LIBRARY)
    row = get_object_or_404(readable_designs(request.user), code=code)
    if row.owner is None or row.offered_at is None:
        raise PermissionDenied
    if Design.objects.filter(owner=None, name__iexact=row.name).exists():
        messages.error(request, "The academy has a test with this name already. Change one of the names first.")
    else:
        row.owner, row.offered_at = None, None
        row.save(update_fields=["owner", "offered_at"])
        messages.success(request, f"Taken in: {row}. Everybody is offered it now.")
    return redirect("designs")


# --- Whose it is ----------------------------------------------------------------------------------


def readable_designs(user: User) -> QuerySet[Design]:
    """The designs that a coach or manager reads: all of them, or the academy's and one's own."""
    if gate.has_permission(user, Permission.MANAGE_LIBRARY):
        return Design.objects.all()
    return Design.objects.filter(Q(owner=None, archived=False) | Q(owner=coach_of(user), owner__isnull=False))


def may_edit(user: User, row: Design) -> bool:
    """Whether a person may change a design: managers those of the academy, a coach their own."""
    if row.owner is None:
        return gate.has_permission(user, Permission.MANAGE_LIBRARY)
    return row.owner.user_id == user.pk


def get_design_to_edit(request: Request, code: str) -> Design:
    """A design that this person may change; 404 for one they may not read, 403 for one that they only read."""
    gate.require(request, Permission.EDIT_LIBRARY)
    row = get_object_or_404(readable_designs(request.user).select_related("owner"), code=code)
    if not may_edit(request.user, row):
        raise PermissionDenied
    return row


def get_own_design(request: Request, code: str) -> Design:
    """A design of the coach's own; 403 for one of the academy's."""
    row = get_design_to_edit(request, code)
    if row.owner is None:
        raise PermissionDenied
    return row


# --- The form -------------------------------------------------------------------------------------


def new_design(kind: str) -> Design:
    """An unsaved design; all but its name and purpose is copied from the first of its kind."""
    template = Design.offered_to(None).filter(kind=kind).first() if kind in Design.Kind.values else None
    return Design(**{name: getattr(template, name) for name in COPIED_FIELDS}) if template else Design()


def edit_design(request: Request, row: Design, heading: str) -> HttpResponse:
    """Show the form; once it is valid, save it and redirect to the list."""
    context = {"heading": heading, "is_new": row.pk is None}
    form = DesignForm(request.POST if request.method == "POST" else None, instance=row, units=request.academy.units)
    if not form.is_valid():
        return render_form(request, "drills/scored_tests/designs/design.html", form, context)
    form.save()
    messages.success(request, f"Saved: {row}.")
    return redirect("designs")
