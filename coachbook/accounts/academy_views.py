"""What the academy decides for itself: its name and clock, and the ages and days that its rules use."""

from typing import TYPE_CHECKING

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods

from coachbook.accounts import gate
from coachbook.accounts.gate import Act
from coachbook.accounts.models import Academy
from coachbook.forms import render_form
from coachbook.http import Request

if TYPE_CHECKING:  # Django's forms take no type at run time
    AcademyModelForm = forms.ModelForm[Academy]
else:
    AcademyModelForm = forms.ModelForm


class AcademyForm(AcademyModelForm):
    """The academy's row."""

    adult_at = forms.IntegerField(
        min_value=14,
        max_value=25,
        label="Age at which a student decides alone",
        help_text="From the year after this birthday a student decides alone, and guardians see nothing more.",
    )
    child_until = forms.IntegerField(
        min_value=5, max_value=17, label="Age up to which a student gets the sheet for a child"
    )
    not_seen_days = forms.IntegerField(
        min_value=1, max_value=1000, label="Days without a lesson after which a student counts as not seen"
    )

    class Meta:
        model = Academy
        fields = ["name", "time_zone", "paper", "adult_at", "child_until", "not_seen_days"]
        labels = {"paper": "Paper of the sheets"}
        help_texts = {"time_zone": "By its name, such as Europe/Dublin. Every day and time is shown in it."}


@require_http_methods(["GET", "POST"])
def academy(request: Request) -> HttpResponse:
    """Read and change what the academy decides."""
    gate.enter(request, Act.RUN)
    form = AcademyForm(request.POST or None, instance=Academy.current())
    if form.is_valid():
        form.save()
        messages.success(request, "Saved.")
        return redirect("academy")
    return render_form(request, "accounts/academy.html", form)
