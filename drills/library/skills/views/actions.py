"""What the buttons of a skill or fault do: archive, offer, take in, order and merge it."""

from collections.abc import Callable

from django.contrib import messages
from django.core.exceptions import PermissionDenied, ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.forms import render_form
from coachbook.http import Request
from drills.library.skills import merging, offers, ordering
from drills.library.skills.access import Row, get_own_row, get_row, get_row_to_change, kind_of
from drills.library.skills.forms import GiveBackForm, name_is_taken
from drills.library.skills.gather import row_context
from lessons.models import Fault

NAME_TAKEN = "Another has this name by now. Change one of the names first."


@require_POST
def archive(request: Request, kind: str, code: str) -> HttpResponse:
    """Offer a row no longer in logs. What was logged with it stays."""
    row = get_row_to_change(request, kind, code)
    row.archived, row.offered_at = True, None
    row.save(update_fields=["archived", "offered_at"])
    return done(request, row, f"Archived: {row}. What was logged with it stays.")


@require_POST
def restore(request: Request, kind: str, code: str) -> HttpResponse:
    """Bring an archived row back, unless it was merged or another has its name by now."""
    row = get_row_to_change(request, kind, code)
    if row.merged_into_id:
        return refused(request, row, f"It was merged into {row.merged_into}. A manager can undo that.")
    if name_is_taken(row, row.name):
        return refused(request, row, NAME_TAKEN)
    row.archived = False
    row.save(update_fields=["archived"])
    return done(request, row, f"Brought back: {row}.")


@require_POST
def offer(request: Request, kind: str, code: str) -> HttpResponse:
    """Offer a row of one's own to the academy; a manager takes it in."""
    row = get_own_row(request, kind, code)
    words = f"Offered to the academy: {row}. A manager takes it in."
    return attempt(request, row, lambda: offers.offer(row, timezone.now()), words)


@require_POST
def keep(request: Request, kind: str, code: str) -> HttpResponse:
    """Take an offer back: the row is one's own alone again."""
    row = get_own_row(request, kind, code)
    row.offered_at = None
    row.save(update_fields=["offered_at"])
    return done(request, row, f"No longer offered: {row} is yours alone.")


@require_POST
def take_in(request: Request, kind: str, code: str) -> HttpResponse:
    """Make an offered row the academy's, with the faults that go with a skill."""
    row = get_offered(request, kind, code)
    return attempt(request, row, lambda: offers.take_in(row), f"Taken in: {row}. Every coach is offered it now.")


@require_POST
def give_back(request: Request, kind: str, code: str) -> HttpResponse:
    """Give an offered row back to its coach, with a word."""
    row = get_offered(request, kind, code)
    form = GiveBackForm(request.POST)
    if not form.is_valid():
        return render_form(request, "drills/library/skills/row.html", form, row_context(request, row))
    offers.give_back(row, form.cleaned_data["word"])
    return done(request, row, f"Given back to {row.owner}: {row}.")


@require_POST
def move(request: Request, kind: str, code: str) -> HttpResponse:
    """Let a row of the academy's change places with the one before it (`up`) or behind it."""
    row = get_of_academy(request, kind, code)
    if not row.archived:
        ordering.move(row, up="up" in request.POST)
    if isinstance(row, Fault):
        return redirect("skill_row", "skill", row.counted_skill.code)
    return redirect(f"{reverse('skills')}?area={row.area}#{row.code}")


@require_http_methods(["GET", "POST"])
def merge(request: Request, kind: str, code: str) -> HttpResponse:
    """Choose what a row is merged into, see what that touches, and do it."""
    row = get_row_to_manage(request, kind, code)
    if row.merged_into_id and request.method == "POST":
        return refused(request, row, f"It was merged into {row.merged_into}. Undo that first.")
    data = request.POST if request.method == "POST" else request.GET if "into" in request.GET else None
    form = merging.MergeForm(data, row=row)
    context = row_context(request, row)
    if row.merged_into_id or not form.is_valid():
        return render_form(request, "drills/library/skills/merge.html", form, context)
    other = form.cleaned_data["into"]
    if request.method == "GET":
        context |= {"form": form, "other": other, "touched": merging.touched_by(row, other)}
        return render(request, "drills/library/skills/merge.html", context)
    return attempt(request, row, lambda: merging.merge(row, other), f"Merged: {row} is counted as {other} now.")


@require_POST
def unmerge(request: Request, kind: str, code: str) -> HttpResponse:
    """Count a merged row for itself again."""
    row = get_row_to_manage(request, kind, code)
    if name_is_taken(row, row.name):
        return refused(request, row, NAME_TAKEN)
    merging.take_merge_back(row)
    return done(request, row, f"Undone: {row} is counted for itself again.")


# --- Rows for managers ----------------------------------------------------------------------------


def get_row_to_manage(request: Request, kind: str, code: str) -> Row:
    """A row of the academy's, or one that is or was offered to it; 403 for what is a coach's own alone."""
    gate.require(request, Permission.MANAGE_LIBRARY)
    row = get_row(request, kind, code)
    if row.owner is not None and row.offered_at is None and row.merged_into is None:
        raise PermissionDenied
    return row


def get_offered(request: Request, kind: str, code: str) -> Row:
    """A row that a coach offers; 403 for any other."""
    row = get_row_to_manage(request, kind, code)
    if row.owner is None:
        raise PermissionDenied
    return row


def get_of_academy(request: Request, kind: str, code: str) -> Row:
    """A row of the academy's; 403 for any other."""
    row = get_row_to_manage(request, kind, code)
    if row.owner is not None:
        raise PermissionDenied
    return row


# --- Answers --------------------------------------------------------------------------------------


def attempt(request: Request, row: Row, change: Callable[[], None], words: str) -> HttpResponse:
    """Make a change and say so, or say why it cannot be made."""
    try:
        change()
    except ValidationError as error:
        return refused(request, row, error.messages[0])
    return done(request, row, words)


def done(request: Request, row: Row, words: str) -> HttpResponse:
    """Say what was done, on the page of the row."""
    messages.success(request, words)
    return redirect("skill_row", kind_of(row), row.code)


def refused(request: Request, row: Row, words: str) -> HttpResponse:
    """Say why nothing was done."""
    messages.error(request, words)
    return redirect("skill_row", kind_of(row), row.code)
