"""How scored tests are set up: data that the academy edits."""

from django.contrib import messages
from django.db.models import Count, QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from coachbook.accounts import gate
from coachbook.accounts.gate import Act
from coachbook.accounts.models import Area
from coachbook.forms import render_form
from coachbook.http import Request
from drills.models import Design
from drills.scored_tests.designs.forms import DesignForm

TAKEN_OVER = ("kind", "area", "setup", "note", "distances_m", "balls", "width_m", "caution")


@require_GET
def designs(request: Request) -> HttpResponse:
    """Every design by area, and the kinds from which another may be made."""
    gate.enter(request, Act.RUN)
    found: QuerySet[Design] = Design.objects.annotate(recorded=Count("scored_tests")).order_by("position")
    by_area = [(area, rows) for area in Area if (rows := [row for row in found if row.area == area])]
    context = {"by_area": by_area, "kinds": Design.Kind.choices}
    return render(request, "drills/scored_tests/designs/designs.html", context)


@require_http_methods(["GET", "POST"])
def design_new(request: Request) -> HttpResponse:
    """Add a design; with a kind in the address the form begins as the academy's first of that kind stands."""
    gate.enter(request, Act.RUN)
    return answer(request, begun(request.GET.get("kind", "")), "Another test")


@require_http_methods(["GET", "POST"])
def design(request: Request, code: str) -> HttpResponse:
    """Change a design. Tests that were recorded with it stay as they are."""
    gate.enter(request, Act.RUN)
    row = get_object_or_404(Design, code=code)
    return answer(request, row, str(row))


def begun(kind: str) -> Design:
    """A design that is not stored yet, all but its name and purpose taken over from another of its kind."""
    pattern = Design.objects.filter(kind=kind).first() if kind in Design.Kind.values else None
    return Design(**{name: getattr(pattern, name) for name in TAKEN_OVER}) if pattern else Design()


def answer(request: Request, row: Design, heading: str) -> HttpResponse:
    """The form, or, with all of it in order, the row stored and back to the list."""
    context = {"heading": heading, "is_new": row.pk is None}
    form = DesignForm(request.POST if request.method == "POST" else None, instance=row, units=request.academy.units)
    if not form.is_valid():
        return render_form(request, "drills/scored_tests/designs/design.html", form, context)
    form.save()
    messages.success(request, f"Saved: {row}.")
    return redirect("designs")
