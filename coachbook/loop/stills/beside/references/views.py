"""The managers' pages of reference stills, and the files of these, which everybody of the academy may see."""

import uuid
from typing import Any

from django.contrib import messages
from django.db import IntegrityError, transaction
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.forms import render_form
from coachbook.http import Request
from coachbook.loop.stills.beside.references.forms import ReferenceForm
from coachbook.loop.stills.views import file_response
from lessons.models import ReferenceStill
from lessons.stills.picture import CleanPicture
from lessons.stills.rows import delete_files, sizes_of, write_files


@require_GET
def references(request: Request) -> HttpResponse:
    """All reference stills, those that are archived at the end."""
    gate.require(request, Permission.MANAGE_LIBRARY)
    rows = list(ReferenceStill.objects.select_related("checkpoint"))
    shown = {"shown": [row for row in rows if not row.archived], "archived": [row for row in rows if row.archived]}
    return render(request, "loop/stills/beside/references.html", shown)


@require_GET
def reference_new(request: Request) -> HttpResponseRedirect:
    """Redirect to a fresh address, so that what is sent twice is one row."""
    gate.require(request, Permission.MANAGE_LIBRARY)
    return redirect("reference", key=uuid.uuid4())


@require_http_methods(["GET", "POST"])
def reference(request: Request, key: uuid.UUID) -> HttpResponse:
    """Add a reference still, or change what is said of it."""
    gate.require(request, Permission.MANAGE_LIBRARY)
    row = ReferenceStill.objects.filter(key=key).first() or ReferenceStill(key=key)
    form = ReferenceForm(request.POST or None, request.FILES or None, instance=row)
    if form.is_valid():
        save(form)
        messages.success(request, "Saved.")
        return redirect("references")
    context = {"reference": row if row.pk else None}
    return render_form(request, "loop/stills/beside/reference.html", form, context)


def save(form: ReferenceForm) -> None:
    """Save the row; a new one behind its two files. Sent twice at once, the one that came first stays."""
    picture: CleanPicture | None = form.cleaned_data.get("picture")
    if picture is None:
        form.save()
        return
    row: Any = form.instance
    for name, value in sizes_of(picture).items():
        setattr(row, name, value)
    write_files(row, picture)
    try:
        with transaction.atomic():
            form.save()
    except IntegrityError:
        delete_files(row)
    except BaseException:
        delete_files(row)
        raise


@require_POST
def reference_archive(request: Request, key: uuid.UUID) -> HttpResponseRedirect:
    """Show a reference no longer, or show it again."""
    gate.require(request, Permission.MANAGE_LIBRARY)
    row = get_object_or_404(ReferenceStill, key=key)
    row.archived = not row.archived
    row.save(update_fields=["archived"])
    messages.success(request, "Archived. It is shown nowhere." if row.archived else "Shown again.")
    return redirect("references")


@require_GET
def reference_picture(request: Request, key: uuid.UUID) -> HttpResponse:
    """The file of a reference still."""
    gate.require(request, Permission.USE_SITE)
    row = readable_reference_or_404(request, key)
    return file_response(row.path, f"reference-{row.key}.jpg")


@require_GET
def reference_thumbnail(request: Request, key: uuid.UUID) -> HttpResponse:
    """The file of its thumbnail."""
    gate.require(request, Permission.USE_SITE)
    row = readable_reference_or_404(request, key)
    return file_response(row.thumbnail_path, f"reference-{row.key}-small.jpg")


def readable_reference_or_404(request: Request, key: uuid.UUID) -> ReferenceStill:
    """The reference at this address; an archived one is seen by those alone who manage them."""
    rows = ReferenceStill.objects.all()
    manages = gate.has_permission(request.user, Permission.MANAGE_LIBRARY)
    return get_object_or_404(rows if manages else rows.filter(archived=False), key=key)
