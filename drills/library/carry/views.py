"""The library as a file: saved from here, previewed, and taken in."""

import json
from typing import Any

from django.contrib import messages
from django.db import IntegrityError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Coach
from coachbook.forms import render_form
from coachbook.http import Request
from drills.library.carry.forms import ChoiceForm, TakeInForm, UploadForm, sign
from drills.library.carry.library import Library, document
from drills.library.carry.plan import Plan, State, make_plan
from drills.library.carry.take_in import Impossible, take_in
from drills.library.rows.access import coach_of
from drills.models import Drill

MEANWHILE = "The library here was changed since this preview was made. Look at it again; nothing was taken in."

UNREADABLE = "This preview cannot be read any more. Choose the file again."


@require_http_methods(["GET", "POST"])
def library_file(request: Request) -> HttpResponse:
    """What may be saved as a file, and a file to be previewed."""
    gate.require(request, Permission.EDIT_LIBRARY)
    form = UploadForm(request.POST, request.FILES) if request.method == "POST" else UploadForm()
    if form.is_valid():
        content = form.cleaned_data["file"]
        return preview(request, make_plan(content, Library.read(taker(request))), content)
    return file_page(request, form)


@require_GET
def library_out(request: Request) -> HttpResponse:
    """The file: of the areas and drills chosen, or of everything."""
    gate.require(request, Permission.EDIT_LIBRARY)
    coach = coach_of(request.user)
    form = ChoiceForm(request.GET, drills=drills_for(coach))
    if not form.is_valid():
        return file_page(request, UploadForm(), form)
    content = document(Library.read(coach), request.academy.name, form.cleaned_data["area"], form.cleaned_data["drill"])
    text = json.dumps(content, ensure_ascii=False, indent=1)
    name = {"Content-Disposition": 'attachment; filename="library.json"'}
    return HttpResponse(text, content_type="application/json", headers=name)


@require_POST
def library_take_in(request: Request) -> HttpResponse:
    """Take in what was previewed: everything or nothing."""
    gate.require(request, Permission.EDIT_LIBRARY)
    form = TakeInForm(request.POST)
    if not form.is_valid():
        upload = UploadForm(request.POST, request.FILES)
        upload.errors["file"] = upload.error_class([UNREADABLE])
        return file_page(request, upload)
    content = form.cleaned_data["document"]
    plan = make_plan(content, Library.read(taker(request)))
    if plan.problems or plan.fingerprint != form.cleaned_data["seen"]:
        return preview(request, plan, content, MEANWHILE)
    ticked = {row.key for row in plan.in_state(State.CHANGED)} if "replace_all" in request.POST else set()
    try:
        stored = take_in(plan, ticked | set(request.POST.getlist("replace")))
    except Impossible as problem:
        return preview(request, make_plan(content, Library.read(taker(request))), content, str(problem))
    except IntegrityError:  # somebody else stored a row with one of the codes in this moment
        return preview(request, make_plan(content, Library.read(taker(request))), content, MEANWHILE)
    number = len(stored)
    messages.success(request, f"Taken in: {number} row{'' if number == 1 else 's'}." if number else "Nothing was new.")
    return redirect("library_file")


# --- Parts --------------------------------------------------------------------------------------


def preview(request: Request, plan: Plan, content: dict[str, Any], problem: str = "") -> HttpResponse:
    """What taking in would do; with what keeps it from being done, and status 422, where anything does."""
    ticked = set(request.POST.getlist("replace"))
    context = {
        "plan": plan,
        "problem": problem,
        "new": plan.in_state(State.NEW),
        "changed": plan.in_state(State.CHANGED),
        "kept": plan.in_state(State.KEPT),
        "ticked": ticked,
        "can_take_in": not plan.problems and (plan.in_state(State.NEW) or plan.in_state(State.CHANGED)),
        "document": "" if plan.problems else sign(content),
    }
    status = 422 if plan.problems or problem else 200
    return render(request, "drills/library/carry/preview.html", context, status=status)


def file_page(request: Request, form: UploadForm, choice: ChoiceForm | None = None) -> HttpResponse:
    """The page with both forms."""
    choice = choice or ChoiceForm(drills=drills_for(coach_of(request.user)))
    answer = render_form(request, "drills/library/carry/file.html", form, {"choice": choice})
    if choice.errors:
        answer.status_code = 422
    return answer


def taker(request: Request) -> Coach | None:
    """Whose rows become what is taken in: the academy's where a manager does it, else the coach's own."""
    return None if request.user.is_manager else coach_of(request.user)


def drills_for(coach: Coach | None) -> list[Drill]:
    """The drills that may be chosen one by one."""
    return list(Drill.offered_to(coach))
