"""What a manager does with drills: take in what a coach offers or give it back, order, and merge."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied, ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.forms import render_form
from coachbook.http import Request
from drills.library.access import get_drill
from drills.library.editing.forms import name_is_taken
from drills.library.managing import merging
from drills.library.skills.forms import GiveBackForm
from drills.library.views import drill_context
from drills.models import Drill


@require_POST
def drill_take_in(request: Request, code: str) -> HttpResponse:
    """Make a drill that a coach offers the academy's."""
    drill = get_offered(request, code)
    try:
        merging.take_in(drill)
    except ValidationError as error:
        messages.error(request, error.messages[0])
    else:
        messages.success(request, f"Taken in: {drill}. Every coach is offered it now.")
    return redirect("drill", code)


@require_POST
def drill_give_back(request: Request, code: str) -> HttpResponse:
    """Give a drill that a coach offers back to them, with a word."""
    drill = get_offered(request, code)
    form = GiveBackForm(request.POST)
    if not form.is_valid():
        return render_form(request, "drills/library/drill.html", form, drill_context(request, drill))
    merging.give_back(drill, form.cleaned_data["word"])
    messages.success(request, f"Given back to {drill.owner}: {drill}.")
    return redirect("drill", code)


@require_POST
def drill_move(request: Request, code: str) -> HttpResponse:
    """Let a drill of the academy's change places with the one of its kind before it (`up`) or behind it."""
    drill = get_of_academy(request, code)
    if not drill.archived:
        merging.move(drill, up="up" in request.POST)
        messages.success(request, f"Moved {'up' if 'up' in request.POST else 'down'}: {drill}.")
    return redirect("drill", code)


@require_http_methods(["GET", "POST"])
def drill_merge(request: Request, code: str) -> HttpResponse:
    """Choose the drill that is offered in place of this one."""
    drill = get_of_academy(request, code)
    form = merging.MergeForm(request.POST if request.method == "POST" else None, drill=drill)
    if form.is_valid() and drill.merged_into_id:
        messages.error(request, f"It was merged into {drill.merged_into}. Take that back first.")
        return redirect("drill", code)
    if not form.is_valid():
        return render_form(request, "drills/library/drill_merge.html", form, {"drill": drill})
    merging.merge(drill, form.cleaned_data["into"])
    messages.success(request, f"Merged: {form.cleaned_data['into']} is offered in place of {drill}.")
    return redirect("drill", code)


@require_POST
def drill_unmerge(request: Request, code: str) -> HttpResponse:
    """Offer a merged drill for itself again."""
    drill = get_of_academy(request, code)
    if drill.merged_into_id and name_is_taken(drill, drill.name):
        messages.error(request, "There is another drill with this name by now. Change the name first.")
    elif drill.merged_into_id:
        drill.take_merge_back()
        messages.success(request, f"Taken back: {drill} is offered again.")
    return redirect("drill", code)


def get_offered(request: Request, code: str) -> Drill:
    """A drill that a coach offers; 403 for any other."""
    gate.require(request, Permission.MANAGE_LIBRARY)
    drill = get_drill(request, code)
    if drill.owner is None or drill.offered_at is None:
        raise PermissionDenied
    return drill


def get_of_academy(request: Request, code: str) -> Drill:
    """A drill of the academy's; 403 for one that is a coach's own."""
    gate.require(request, Permission.MANAGE_LIBRARY)
    drill = get_drill(request, code)
    if drill.owner is not None:
        raise PermissionDenied
    return drill
