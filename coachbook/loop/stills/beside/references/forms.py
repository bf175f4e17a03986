"""The form of a reference still: what it shows, of which side, and whose consent it needs."""

from typing import TYPE_CHECKING, Any, cast

from django import forms
from django.utils.text import capfirst

from coachbook.accounts.models import Area
from coachbook.forms import set_choices
from coachbook.loop.stills.forms import StillForm, checkpoint_choices
from lessons.models import ReferenceStill

MAY_SHOW = "The academy says that it may show this person to its students, their guardians and coaches."
SHOWS = [(False, "A drawing, or nobody who can be recognised"), (True, "A person")]


if TYPE_CHECKING:  # Django's forms take no type at run time
    ReferenceModelForm = forms.ModelForm[ReferenceStill]
else:
    ReferenceModelForm = forms.ModelForm


class ReferenceForm(ReferenceModelForm):
    """What a reference shows. The picture is chosen once: for another picture add another reference."""

    picture = cast(forms.FileField, StillForm.base_fields["picture"])
    shows_person = forms.TypedChoiceField(
        label="What it shows",
        choices=SHOWS,
        coerce=lambda value: value == "True",
        widget=forms.RadioSelect,
        error_messages={"required": "Say whether it shows a person."},
    )
    field_order = ["picture", "checkpoint", "view", "club", "side", "caption", "shows_person"]

    class Meta:
        model = ReferenceStill
        fields = ["checkpoint", "view", "club", "side", "caption", "shows_person", "consent_note", "may_show"]
        widgets = {"view": forms.RadioSelect, "side": forms.RadioSelect}
        labels = {"side": "The player stands on the", "may_show": MAY_SHOW}
        help_texts = {
            "club": "Leave it blank if it holds for every club.",
            "consent_note": "For a person: who agreed, when, and where that is kept.",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        set_choices(self, "checkpoint", checkpoint_choices(list(Area), self.instance.checkpoint_id))
        for name in ("view", "side"):
            choices = cast(Any, self.fields[name]).choices
            set_choices(self, name, [(value, capfirst(label)) for value, label in choices if value])
        if self.instance.pk:
            del self.fields["picture"]
        else:
            self.initial["shows_person"] = None

    clean_picture = StillForm.clean_picture

    def clean(self) -> dict[str, Any]:
        """No person without whose consent it is, and the academy's word."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if data.get("shows_person"):
            if not data.get("consent_note"):
                self.add_error("consent_note", "Say who agreed that this picture is shown.")
            if not data.get("may_show"):
                self.add_error("may_show", "A person is shown only once the academy says that it may.")
        return data
