"""The academy's settings: its name, time zone and units, and the ages and numbers that the rules use."""

from typing import TYPE_CHECKING, Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Academy, Student
from coachbook.accounts.relationships import junior_condition
from coachbook.forms import render_form
from coachbook.http import Request

if TYPE_CHECKING:  # Django's forms take no type at run time
    AcademyModelForm = forms.ModelForm[Academy]
else:
    AcademyModelForm = forms.ModelForm

# The numbers are those of lessons/progress/focus_states.py.
AS_OFTEN = "looked at about as often as before"
HOLDING_HELP = f"Two may be luck. It takes this as well: lately seen on none of 5, on 1 of 8 or on 2 of 11, {AS_OFTEN}."
READY_HELP = f"It takes this as well: lately seen on none of 8, on 1 of 13 or on 2 of 17, {AS_OFTEN}."


class AcademyForm(AcademyModelForm):
    """The academy's settings."""

    adult_at = forms.IntegerField(
        min_value=14,
        max_value=25,
        label="Age at which a student decides alone",
        help_text="From the year after this birthday guardians no longer see the record.",
    )
    child_until = forms.IntegerField(
        min_value=5, max_value=17, label="Age up to which a student gets the sheet for a child"
    )
    not_seen_days = forms.IntegerField(
        min_value=1, max_value=1000, label="Days without a lesson after which a student counts as not seen"
    )
    keep_years = forms.IntegerField(
        min_value=1,
        max_value=50,
        label="Years without a lesson after which a student is listed as long gone",
        help_text="Nothing is erased by this: a manager looks at the list and decides.",
    )

    state_new_looks = forms.IntegerField(
        min_value=1,
        max_value=20,
        label="New: looked at on fewer arrivals than",
        help_text="These numbers decide the state of a focus. The first state that applies is shown: "
        "closed, ready to close, holding, returned, new, does not hold, in progress. Of several arrivals on one day "
        "the first counts.",
    )
    state_lost = forms.IntegerField(
        min_value=1, max_value=20, label="Does not hold: changes in a row that were lost by the next arrival"
    )
    state_holding = forms.IntegerField(
        min_value=1, max_value=20, label="Holding: good arrivals in a row", help_text=HOLDING_HELP
    )
    state_ready = forms.IntegerField(
        min_value=1, max_value=20, label="Ready to close: good arrivals in a row", help_text=READY_HELP
    )
    state_ready_days = forms.IntegerField(
        min_value=0, max_value=365, label="Ready to close: days that these arrivals span at least"
    )
    state_returned = forms.IntegerField(
        min_value=1,
        max_value=20,
        label="Returned: arrivals on which it was seen after it was closed or ready to close",
        help_text="With one good arrival between them at most.",
    )

    class Meta:
        model = Academy
        fields = [
            *("name", "time_zone", "units", "paper", "adult_at", "child_until", "not_seen_days", "keep_years"),
            *("state_new_looks", "state_lost", "state_holding", "state_ready", "state_ready_days", "state_returned"),
        ]
        labels = {"units": "Lengths are shown in", "paper": "Paper size of sheets"}
        help_texts = {"time_zone": "By its name, such as Europe/Dublin. All days and times are shown in it."}

    def clean_name(self) -> str:
        """On one line: it stands in the subject of mails."""
        return " ".join(self.cleaned_data["name"].split())

    def clean_adult_at(self) -> int:
        """An age that lets nobody decide alone at once: that would lift what protects them, for all by one person."""
        age, on = self.cleaned_data["adult_at"], self.instance.today(timezone.now())
        juniors = Student.objects.present().filter(junior_condition(self.instance, on))
        if freed := juniors.exclude(junior_condition(Academy(adult_at=age), on)).count():
            who = f"{freed} student{' would' if freed == 1 else 's would'} decide alone at once"
            raise forms.ValidationError(
                f"{who}, and guardians would see nothing more. "
                f"Only whoever runs the server can set it: manage.py adult_at {age}"
            )
        return int(age)

    def clean(self) -> dict[str, Any]:
        """Ready to close takes at least as many arrivals as holding."""
        cleaned = super().clean() or self.cleaned_data
        holding, ready = cleaned.get("state_holding"), cleaned.get("state_ready")
        if holding and ready and ready < holding:
            self.add_error("state_ready", f"Holding takes {holding} arrivals in a row: type {holding} or more.")
        return cleaned


@require_http_methods(["GET", "POST"])
def academy(request: Request) -> HttpResponse:
    """Show and change the academy's settings."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    form = AcademyForm(request.POST or None, instance=Academy.current())
    if form.is_valid():
        form.save()
        messages.success(request, "Saved.")
        return redirect("academy")
    return render_form(request, "accounts/academy.html", form)
