"""The form of a reference still: what it shows, of which side, and whose consent it needs."""

from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile

from coachbook.accounts.models import Area
from coachbook.forms import set_choices
from coachbook.loop.stills.forms import checkpoint_choices
from lessons.models import ReferenceStill
from lessons.stills.picture import MOST_BYTES, CleanPicture, Refused, clean_picture, too_large

MAY_SHOW = "The academy says that it may show this person to its students, their guardians and coaches."
SHOWS = [(False, "a drawing, or nobody who can be recognised"), (True, "a person")]


class ReferenceForm(forms.ModelForm):  # type: ignore[type-arg]  # Django's forms take no type at run time
    """What a reference shows. The picture is chosen once: for another picture add another reference."""

    picture = forms.FileField(
        label="Picture",
        help_text="JPEG, PNG or WebP, 12 MB at most. Where it was taken and by which camera is not kept.",
        widget=forms.FileInput({"accept": "image/jpeg,image/png,image/webp"}),
        allow_empty_file=True,
        error_messages={"required": "Choose a picture.", "max_length": "The name of the file is too long."},
    )
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
        set_choices(self, "checkpoint", checkpoint_choices(list(Area)))
        for name in ("view", "side"):
            field = cast(forms.TypedChoiceField, self.fields[name])
            field.choices = [choice for choice in cast(Any, field.choices) if choice[0]]
        if self.instance.pk:
            del self.fields["picture"]
        else:
            self.initial["shows_person"] = None

    def clean_picture(self) -> CleanPicture:
        """The picture as it is kept; refused with words."""
        file = cast("UploadedFile[Any]", self.cleaned_data["picture"])
        if file.size and file.size > MOST_BYTES:
            raise ValidationError(too_large(file.size))
        try:
            return clean_picture(file.read())
        except Refused as refusal:
            raise ValidationError(str(refusal)) from refusal

    def clean(self) -> dict[str, Any]:
        """No person without whose consent it is, and the academy's word."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if data.get("shows_person"):
            if not data.get("consent_note"):
                self.add_error("consent_note", "Say who agreed that this picture is shown.")
            if not data.get("may_show"):
                self.add_error("may_show", "A person is shown only once the academy says that it may.")
        return data
