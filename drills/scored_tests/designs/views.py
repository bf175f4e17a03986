"""The designs of scored tests: those of the academy, which managers edit, and those of a coach's own."""

from typing import Any, cast

from django.contrib import messages
from django.db import transaction
from django.db.models import Count, Q
from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Area
from coachbook.http import Request
from drills.library.rows.access import coach_of, get_row_to_change, may_change, readable
from drills.library.rows.editions import Overtaken, differences
from drills.library.rows.offers import word_of
from drills.models import Design
from drills.putting.lengths import unit_of
from drills.scored_tests.designs.forms import DesignForm
from drills.scored_tests.wording import aim_words

COPIED_FIELDS = ("kind", "area", "setup", "note", "distances_m", "balls", "width_m", "past_m", "caution")


@require_GET
def designs(request: Request) -> HttpResponse:
    """The designs by area, and the kinds for a new one: all of them for managers, for a coach the academy's and own."""
    gate.require(request, Permission.EDIT_LIBRARY)
    manages = gate.has_permission(request.user, Permission.MANAGE_LIBRARY)
    found = readable(request, Design).filter(Q() if manages else Q(archived=False) | Q(owner__isnull=False))
    rows = found.annotate(recorded=Count("scored_tests")).order_by("position", "pk")
    unit = unit_of(request.academy.units)
    own = [(row, may_change(request.user, row), aim_words(row, unit)) for row in rows]
    by_area = [(area, of_area) for area in Area if (of_area := [each for each in own if each[0].area == area])]
    context = {"by_area": by_area, "kinds": Design.Kind.choices, "manages": manages}
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
    row = cast(Design, get_row_to_change(request, "design", code))
    return edit_design(request, row, str(row))


# --- The form -------------------------------------------------------------------------------------


def new_design(kind: str) -> Design:
    """An unsaved design; all but its name and purpose is copied from the first of its kind."""
    template = Design.offered_to(None).filter(kind=kind).first() if kind in Design.Kind.values else None
    return Design(**{name: getattr(template, name) for name in COPIED_FIELDS}) if template else Design()


def edit_design(request: Request, row: Design, heading: str) -> HttpResponse:
    """Show the form; once it is valid, save it and redirect to the list."""
    edition = request.POST.get("edition", "") if request.method == "POST" else str(row.edition)
    context: dict[str, Any] = {"heading": heading, "is_new": row.pk is None, "kind": "test", "edition": edition}
    form = form_for(request, row, request.POST if request.method == "POST" else None)
    if form.is_valid():
        try:
            return saved(request, form, edition)
        except Overtaken as overtaken:
            stored = form_for(request, cast(Design, overtaken.stored), None)
            context |= {"differences": list(differences(stored, form)), **overtaken.context}
    context |= {"form": form, "word": word_of(row) if row.pk else ""}
    return render(request, "drills/scored_tests/designs/design.html", context, status=422 if form.is_bound else 200)


def form_for(request: Request, row: Design, data: QueryDict | None) -> DesignForm:
    """The form of a design, in the academy's units."""
    return DesignForm(data, instance=row, units=request.academy.units)


@transaction.atomic
def saved(request: Request, form: DesignForm, edition: str) -> HttpResponse:
    """Store a valid design and show the list. Raises Overtaken if this edition is past."""
    form.store(edition)
    messages.success(request, f"Saved: {form.instance}.")
    return redirect("designs")
