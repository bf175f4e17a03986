"""The designs of scored tests, which the academy edits."""

from django.contrib import messages
from django.db.models import Count, QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Area
from coachbook.forms import render_form
from coachbook.http import Request
from drills.models import Design
from drills.scored_tests.designs.forms import DesignForm

COPIED_FIELDS = ("kind", "area", "setup", "note", "distances_m", "balls", "width_m", "caution")


@require_GET
def designs(request: Request) -> HttpResponse:
    """Every design by area, and the kinds for a new one."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    found: QuerySet[Design] = Design.objects.annotate(recorded=Count("scored_tests")).order_by("position")
    by_area = [(area, rows) for area in Area if (rows := [row for row in found if row.area == area])]
    context = {"by_area": by_area, "kinds": Design.Kind.choices}
    return render(request, "drills/scored_tests/designs/designs.html", context)


@require_http_methods(["GET", "POST"])
def design_new(request: Request) -> HttpResponse:
    """Add a design; with a kind in the URL the form starts with the values of the first design of that kind."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    return edit_design(request, new_design(request.GET.get("kind", "")), "Another test")


@require_http_methods(["GET", "POST"])
def design(request: Request, code: str) -> HttpResponse:
    """Change a design. Tests that were recorded with it stay as they are."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    row = get_object_or_404(Design, code=code)
    return edit_design(request, row, str(row))


def new_design(kind: str) -> Design:
    """An unsaved design; all but its name and purpose is copied from the first of its kind."""
    template = Design.objects.filter(kind=kind).first() if kind in Design.Kind.values else None
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
