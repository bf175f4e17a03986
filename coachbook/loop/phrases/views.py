"""The page of the academy's own words, by which a note of a log is understood."""

import uuid

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_http_methods, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.forms import render_form
from coachbook.http import Request
from coachbook.loop.log.catalogue import CatalogueChoices
from coachbook.loop.phrases.forms import PhraseForm
from coachbook.loop.phrases.meant import read_meanings
from lessons.models import Phrase


@require_http_methods(["GET", "POST"])
def phrases(request: Request) -> HttpResponse:
    """The words that were added, and a form to add more."""
    gate.require(request, Permission.ADD_PHRASES)
    form = PhraseForm(request.POST or None, catalogue=CatalogueChoices.read(getattr(request.user, "coach", None)))
    if form.is_valid():
        Phrase.objects.create(code=form.cleaned_data["meant"], words=form.cleaned_data["words"])
        messages.success(request, "Added. The next note is read with it.")
        return redirect("phrases")
    code_for = read_meanings().code_for
    names = ((phrase, form.names.get(code_for(phrase.code))) for phrase in Phrase.objects.all())
    rows = [(phrase, name or "no longer in the catalogue") for phrase, name in names]
    return render_form(request, "loop/phrases/phrases.html", form, {"rows": rows})


@require_POST
def phrase_remove(request: Request, key: uuid.UUID) -> HttpResponse:
    """Remove words; their history stays."""
    gate.require(request, Permission.ADD_PHRASES)
    get_object_or_404(Phrase, key=key).delete()
    messages.success(request, "Removed.")
    return redirect("phrases")
