"""The list of checkpoints, and the page to add or change one."""

import uuid

from django.contrib import messages
from django.db.models import Max
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Area
from coachbook.forms import render_form
from coachbook.http import Request
from drills.library.checkpoints.forms import CheckpointForm
from lessons.models import Checkpoint


@require_GET
def checkpoints(request: Request) -> HttpResponse:
    """The moments of a stroke at which stills are taken, by area."""
    gate.require(request, Permission.MANAGE_LIBRARY)
    rows = list(Checkpoint.objects.order_by("position", "pk"))
    areas = [(area, [row for row in rows if row.area == area], uuid.uuid4()) for area in Area]
    return render(request, "drills/library/checkpoints/checkpoints.html", {"areas": areas})


@require_http_methods(["GET", "POST"])
def checkpoint(request: Request, key: uuid.UUID) -> HttpResponse:
    """Change a checkpoint, or at a fresh address add one to the area that the address names."""
    gate.require(request, Permission.MANAGE_LIBRARY)
    row = Checkpoint.objects.filter(key=key).first() or new_checkpoint(request, key)
    form = CheckpointForm(request.POST if request.method == "POST" else None, instance=row)
    if form.is_valid() and form.store():
        messages.success(request, f"Saved: {row}, {row.get_area_display().lower()}.")
        return redirect(f"{reverse('checkpoints')}#{row.area}")
    return render_form(request, "drills/library/checkpoints/checkpoint.html", form, {"checkpoint": row})


def new_checkpoint(request: Request, key: uuid.UUID) -> Checkpoint:
    """One that is not stored yet, at the end of its area; 404 where the address names none."""
    area = request.GET.get("area", "")
    if area not in Area.values:
        raise Http404
    last = Checkpoint.objects.filter(area=area).aggregate(last=Max("position"))["last"]
    return Checkpoint(key=key, area=area, position=0 if last is None else last + 1)
