"""What the academy decides for itself: its name and clock, and the ages and days that its rules use."""

from typing import TYPE_CHECKING, Any

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

    state_new = forms.IntegerField(
        min_value=1,
        max_value=20,
        label="New: looked at on fewer arrivals than",
        help_text="The words for how far a focus has come. The first that fits is used: done, holding, came back, new,"
        " changes in the lesson but does not hold, working.",
    )
    state_slips = forms.IntegerField(
        min_value=1, max_value=20, label="Does not hold: so many changes in a row lost by the next arrival"
    )
    state_holding = forms.IntegerField(min_value=1, max_value=20, label="Holding: sound on so many arrivals in a row")
    state_done = forms.IntegerField(min_value=1, max_value=20, label="Done: sound on so many arrivals in a row")
    state_done_days = forms.IntegerField(min_value=0, max_value=365, label="Done: over so many days at least")
    state_back = forms.IntegerField(
        min_value=1, max_value=20, label="Came back: seen on so many arrivals after it was done"
    )

    class Meta:
        model = Academy
        fields = [
            *("name", "time_zone", "units", "paper", "adult_at", "child_until", "not_seen_days"),
            *("state_new", "state_slips", "state_holding", "state_done", "state_done_days", "state_back"),
        ]
        labels = {"units": "Lengths are told in", "paper": "Paper of the sheets"}
        help_texts = {"time_zone": "By its name, such as Europe/Dublin. Every day and time is shown in it."}

    def clean(self) -> dict[str, Any]:
        """Done asks for as much as holding at least."""
        cleaned = super().clean() or self.cleaned_data
        holding, done = cleaned.get("state_holding"), cleaned.get("state_done")
        if holding and done and done < holding:
            self.add_error("state_done", f"Holding takes {holding} arrivals in a row, so done takes as many or more.")
        return cleaned


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
