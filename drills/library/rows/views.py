"""What the buttons of a row do, whatever its kind: archive, offer, take in, order and merge it."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from coachbook.forms import render_form
from coachbook.http import Request
from drills.library.rows import access, merging, offers, ordering
from drills.library.rows.access import Row, kind_of
from drills.library.rows.pages import address_of
from drills.library.rows.places import name_is_taken

NAME_TAKEN = "Another has this name by now. Change one of the names first."


@require_POST
def archive(request: Request, kind: str, code: str) -> HttpResponse:
    """Offer a row no longer in logs. What was logged with it and given to students stays."""
    row = access.get_row_to_change(request, kind, code)
    row.archived, row.offered_at = True, None
    row.save(update_fields=["archived", "offered_at"])
    return done(request, row, f"Archived: {row}. What was logged with it stays, and students who have it keep it.")


@require_POST
def restore(request: Request, kind: str, code: str) -> HttpResponse:
    """Bring an archived row back, unless it was merged or another has its name by now."""
    row = access.get_row_to_change(request, kind, code)
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
    row = access.get_own_row(request, kind, code)
    words = f"Offered to the academy: {row}. A manager takes it in."
    return attempt(request, row, lambda: offers.offer(row, timezone.now()), words)


@require_POST
def keep(request: Request, kind: str, code: str) -> HttpResponse:
    """Take an offer back: the row is one's own alone again."""
    row = access.get_own_row(request, kind, code)
    offers.keep(row)
    return done(request, row, f"No longer offered: {row} is yours alone.")


@require_POST
def take_in(request: Request, kind: str, code: str) -> HttpResponse:
    """Make an offered row the academy's, with the faults that go with a skill."""
    row = access.get_offered_row(request, kind, code)
    return attempt(request, row, lambda: offers.take_in(row), f"Taken in: {row}. Every coach is offered it now.")


@require_http_methods(["GET", "POST"])
def give_back(request: Request, kind: str, code: str) -> HttpResponse:
    """Give an offered row back to its coach, with a word."""
    row = access.get_offered_row(request, kind, code)
    form = offers.GiveBackForm(request.POST if request.method == "POST" else None)
    if not form.is_valid():
        return render_form(request, "drills/library/rows/give_back.html", form, row_context(row))
    offers.give_back(row, form.cleaned_data["word"])
    return done(request, row, f"Given back to {row.owner}: {row}.")


@require_POST
def move(request: Request, kind: str, code: str) -> HttpResponse:
    """Let a row of the academy's change places with the one before it (`up`) or behind it."""
    row = access.get_row_of_academy(request, kind, code)
    if not row.archived:
        ordering.move(row, up="up" in request.POST)
    return redirect(address_of(row, in_list=True))


@require_http_methods(["GET", "POST"])
def merge(request: Request, kind: str, code: str) -> HttpResponse:
    """Choose what a row is merged into, see what that touches, and do it."""
    row = access.get_row_to_manage(request, kind, code)
    if row.merged_into_id and request.method == "POST":
        return refused(request, row, f"It was merged into {row.merged_into}. Undo that first.")
    data = request.POST if request.method == "POST" else request.GET if "into" in request.GET else None
    form = merging.MergeForm(data, row=row)
    if row.merged_into_id or not form.is_valid():
        return render_form(request, "drills/library/rows/merge.html", form, row_context(row))
    other = form.cleaned_data["into"]
    if request.method == "GET":
        context = row_context(row) | {"form": form, "other": other, "touched": merging.touched_by(row, other)}
        return render(request, "drills/library/rows/merge.html", context)
    return attempt(request, row, lambda: merging.merge(row, other), f"Merged: {row} is counted as {other} now.")


@require_POST
def unmerge(request: Request, kind: str, code: str) -> HttpResponse:
    """Count a merged row for itself again."""
    row = access.get_row_to_manage(request, kind, code)
    if name_is_taken(row, row.name):
        return refused(request, row, NAME_TAKEN)
    merging.take_merge_back(row)
    return done(request, row, f"Undone: {row} is counted for itself again.")


# --- Answers --------------------------------------------------------------------------------------


def row_context(row: Row) -> dict[str, Any]:
    """What a page about one row needs."""
    return {"row": row, "kind": kind_of(row), "address": address_of(row)}


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
    return redirect(address_of(row))


def refused(request: Request, row: Row, words: str) -> HttpResponse:
    """Say why nothing was done."""
    messages.error(request, words)
    return redirect(address_of(row))
