"""Adding and changing drills, archiving them, and offering one's own to the academy."""

from collections.abc import Sequence
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST
from django.views.decorators.vary import vary_on_headers

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Area
from coachbook.http import Request
from drills.library.access import coach_of, get_drill, get_drill_to_edit, get_own_drill
from drills.library.editing.editor import DrillEditor, copy_of, with_brackets
from drills.library.editing.forms import name_is_taken
from drills.library.editing.preview import preview_of
from drills.library.editing.save import Overtaken, differences, save_drill
from drills.library.editing.words import SIDE_WORDS
from drills.models import Drill, Fit

WORD_FIELDS = ("name", "purpose", "equipment", "setup", "steps", "feel", "mark", "tip", "caution")


@require_http_methods(["GET", "POST"])
@vary_on_headers("HX-Request")
def drill_new(request: Request) -> HttpResponse:
    """Add a drill of one's own, or of the academy's for a manager: of an area, or beginning as a copy of another."""
    gate.require(request, Permission.EDIT_LIBRARY)
    drill, fits, heading = Drill(area=request.GET.get("area", "")), list[Fit](), "New drill"
    if code := request.GET.get("copy"):
        source = get_drill(request, code)
        drill, fits, heading = copy_of(source), fits_of(source), f"New drill, a copy of {source}"
    if drill.area not in Area.values:
        status = 422 if request.method == "POST" else 200
        return render(request, "drills/library/edit_begin.html", {"areas": Area}, status=status)
    drill.owner = coach_of(request.user)
    return edit_drill(request, drill, fits, heading)


@require_http_methods(["GET", "POST"])
@vary_on_headers("HX-Request")
def drill_edit(request: Request, code: str) -> HttpResponse:
    """Change a drill. What was logged and issued with it keeps its words."""
    drill = get_drill_to_edit(request, code)
    return edit_drill(request, drill, fits_of(drill), f"Change {drill}")


def edit_drill(request: Request, drill: Drill, fits: Sequence[Fit], heading: str) -> HttpResponse:
    """Show the forms and what they make; once they are valid, save and show the drill."""
    edition = request.POST.get("edition", "") if request.method == "POST" else str(drill.edition)
    context: dict[str, Any] = {"heading": heading, "drill": drill, "edition": edition}
    data = None
    if request.method == "POST":
        data = with_brackets(request.POST) if "brackets" in request.POST else request.POST
    editor = DrillEditor(data, drill, fits)
    is_shown_only = any(name in request.POST for name in ("preview", "brackets"))
    if editor.is_valid() and not is_shown_only:
        try:
            return saved(request, drill, has_changed=save_drill(editor, fits, edition))
        except Overtaken as overtaken:
            stored = overtaken.stored
            last = stored.history.select_related("history_user").first()
            context |= {"stored": stored, "last": last, "differences": list(differences(editor, stored))}
            context["edition"] = str(stored.edition)
    context |= {"form": editor, "editor": editor, "word_fields": WORD_FIELDS, "side_words": SIDE_WORDS}
    context |= preview_of(editor, request.academy.units)
    template = "drills/library/edit_preview.html" if request.htmx else "drills/library/edit.html"
    has_problem = editor.errors or "stored" in context
    return render(request, template, context, status=422 if has_problem and not is_shown_only else 200)


def saved(request: Request, drill: Drill, *, has_changed: bool) -> HttpResponse:
    """Say that it is saved, and show it."""
    messages.success(request, f"Saved: {drill}." if has_changed else "Nothing was changed.")
    return redirect("drill", drill.code)


def fits_of(drill: Drill) -> list[Fit]:
    """Which faults a drill mends and for which it is wrong."""
    return list(drill.fits.select_related("fault"))


# --- In use, archived, offered --------------------------------------------------------------------


@require_POST
def drill_archive(request: Request, code: str) -> HttpResponse:
    """Offer a drill no longer. Students who have it keep it."""
    drill = get_drill_to_edit(request, code)
    drill.archived, drill.offered_at = True, None
    drill.save(update_fields=["archived", "offered_at"])
    messages.success(request, f"Archived: {drill}. Students who have it keep it.")
    return redirect("drill", drill.code)


@require_POST
def drill_restore(request: Request, code: str) -> HttpResponse:
    """Bring an archived drill back, unless it was merged or another has its name by now."""
    drill = get_drill_to_edit(request, code)
    if drill.merged_into_id:
        messages.error(request, f"It was merged into {drill.merged_into}, and stays archived.")
    elif name_is_taken(drill, drill.name):
        messages.error(request, "There is another drill with this name by now. Change the name first.")
    else:
        drill.archived = False
        drill.save(update_fields=["archived"])
        messages.success(request, f"Brought back: {drill}.")
    return redirect("drill", drill.code)


@require_POST
def drill_offer(request: Request, code: str) -> HttpResponse:
    """Offer a drill of one's own to the academy; a manager takes it in."""
    drill = get_own_drill(request, code)
    if drill.archived:
        messages.error(request, "Bring it back first: an archived drill is not offered.")
    else:
        drill.offered_at = drill.offered_at or timezone.now()
        drill.save(update_fields=["offered_at"])
        messages.success(request, f"Offered to the academy: {drill}. A manager takes it in.")
    return redirect("drill", drill.code)


@require_POST
def drill_keep(request: Request, code: str) -> HttpResponse:
    """Take an offer back: the drill is one's own alone again."""
    drill = get_own_drill(request, code)
    drill.offered_at = None
    drill.save(update_fields=["offered_at"])
    messages.success(request, f"No longer offered: {drill} is yours alone.")
    return redirect("drill", drill.code)
