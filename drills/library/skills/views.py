"""Skills and faults by area, one of them, and the form to add or change one."""

from typing import Any, cast

from django.contrib import messages
from django.http import HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods
from django.views.decorators.vary import vary_on_headers

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Area
from coachbook.http import Request
from drills.library.editing.words import SIDE_WORDS
from drills.library.rows.access import coach_of, get_row, get_row_to_change, kind_of, readable
from drills.library.rows.editions import Overtaken, differences
from drills.library.skills.forms import FaultForm, SkillForm
from drills.library.skills.gather import SkillOrFault, row_context, skills_in, skills_to_choose
from drills.library.skills.preview import preview_of, with_brackets
from drills.library.skills.save import RowForm, save_row
from lessons.models import Fault, Skill


@require_GET
def skills(request: Request) -> HttpResponse:
    """The skills of one area with their faults, and what waits to be taken in."""
    gate.require(request, Permission.EDIT_LIBRARY)
    area = request.GET.get("area", "")
    chosen = Area(area) if area in Area.values else Area.PUTTING
    context = {"areas": Area, "area": chosen, "manages": request.user.is_manager, **skills_in(request, chosen)}
    return render(request, "drills/library/skills/skills.html", context)


@require_GET
def skill_row(request: Request, kind: str, code: str) -> HttpResponse:
    """One skill or fault, as a coach and players of either side read it, and what may be done with it."""
    row = cast(SkillOrFault, get_row(request, kind, code))
    return render(request, "drills/library/skills/row.html", row_context(request, row))


@require_http_methods(["GET", "POST"])
@vary_on_headers("HX-Request")
def skill_new(request: Request) -> HttpResponse:
    """Add a skill of one's own, or of the academy's for a manager who is no coach."""
    gate.require(request, Permission.EDIT_LIBRARY)
    area = request.GET.get("area", "")
    if area not in Area.values:
        status = 422 if request.method == "POST" else 200
        return render(request, "drills/library/skills/begin.html", {"areas": Area}, status=status)
    return edit_row(request, Skill(area=area, owner=coach_of(request.user)), f"New skill, {Area(area).label.lower()}")


@require_http_methods(["GET", "POST"])
@vary_on_headers("HX-Request")
def fault_new(request: Request, code: str) -> HttpResponse:
    """Add a fault of one's own, or of the academy's for a manager who is no coach, to a skill."""
    gate.require(request, Permission.EDIT_LIBRARY)
    skill = get_object_or_404(readable(request, Skill).filter(archived=False), code=code)
    return edit_row(request, Fault(skill=skill, owner=coach_of(request.user)), f"New fault of {skill}")


@require_http_methods(["GET", "POST"])
@vary_on_headers("HX-Request")
def skill_row_edit(request: Request, kind: str, code: str) -> HttpResponse:
    """Change a skill or fault. Lessons that were finished keep their words."""
    row = cast(SkillOrFault, get_row_to_change(request, kind, code))
    return edit_row(request, row, f"Change {row}")


def edit_row(request: Request, row: SkillOrFault, heading: str) -> HttpResponse:
    """Show the form and what it makes; once it is valid, save and show the row."""
    edition = request.POST.get("edition", "") if request.method == "POST" else str(row.edition)
    context: dict[str, Any] = {"heading": heading, "row": row, "kind": kind_of(row), "side_words": SIDE_WORDS}
    context["edition"] = edition
    data = None
    if request.method == "POST":
        data = with_brackets(request.POST) if "brackets" in request.POST else request.POST
    form = form_for(request, row, data)
    is_shown_only = any(name in request.POST for name in ("preview", "brackets"))
    if form.is_valid() and not is_shown_only:
        try:
            return saved(request, row, has_changed=save_row(form, edition))
        except Overtaken as overtaken:
            stored = form_for(request, cast(SkillOrFault, overtaken.stored), None)
            context |= {"differences": list(differences(stored, form, without=("is_meant",))), **overtaken.context}
    context |= {"form": form, **preview_of(form)}
    template = "preview" if request.htmx else "edit"
    has_problem = (form.is_bound and form.errors) or "stored" in context
    status = 422 if has_problem and not is_shown_only else 200
    return render(request, f"drills/library/skills/{template}.html", context, status=status)


def form_for(request: Request, row: SkillOrFault, data: QueryDict | None) -> RowForm:
    """The form of a skill or of a fault."""
    if isinstance(row, Skill):
        return SkillForm(data, instance=row)
    return FaultForm(data, instance=row, skills=skills_to_choose(request, row))


def saved(request: Request, row: SkillOrFault, *, has_changed: bool) -> HttpResponse:
    """Say that it is saved, and show it."""
    messages.success(request, f"Saved: {row}." if has_changed else "Nothing was changed.")
    return redirect("skill_row", kind_of(row), row.code)
