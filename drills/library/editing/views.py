"""Adding and changing drills."""

from collections.abc import Sequence
from typing import Any, cast

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods
from django.views.decorators.vary import vary_on_headers

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Area
from coachbook.http import Request
from drills.library.editing.editor import DrillEditor, copy_of, with_brackets
from drills.library.editing.preview import preview_of
from drills.library.editing.save import differences, save_drill
from drills.library.editing.words import SIDE_WORDS
from drills.library.rows.access import coach_of, get_drill, get_row_to_change
from drills.library.rows.editions import Overtaken
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
    drill = cast(Drill, get_row_to_change(request, "drill", code))
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
            stored = cast(Drill, overtaken.stored)
            context |= {"differences": list(differences(editor, stored)), "kind": "drill", **overtaken.context}
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
