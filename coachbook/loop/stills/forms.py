"""The form by which a still is taken."""

from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile

from coachbook.accounts.models import Area
from coachbook.forms import set_choices
from lessons.models import Checkpoint, Lesson, Still
from lessons.stills.picture import MOST_BYTES, CleanPicture, Refused, clean_picture, too_large

AGREES = (
    "I asked {name}: they agree that this site keeps single pictures of them, without place or camera, and shows them "
    "to them, to the coaches who teach them and to the managers."
)


class StillForm(forms.ModelForm):  # type: ignore[type-arg]  # Django's forms take no type at run time
    """A picture with what it shows: checkpoint, view, moment, club, caption; from an adult once, that they agree."""

    picture = forms.FileField(
        label="Picture",
        help_text="JPEG, PNG or WebP, 12 MB at most. Where it was taken and by which camera is not kept.",
        widget=forms.FileInput({"accept": "image/jpeg,image/png,image/webp"}),
        allow_empty_file=True,
        error_messages={"required": "Choose a picture.", "max_length": "The name of the file is too long."},
    )
    agrees = forms.BooleanField(error_messages={"required": "Ask first, and tick this once they agree."})
    field_order = ["picture", "checkpoint", "moment", "view", "club", "caption", "agrees"]

    class Meta:
        model = Still
        fields = ["checkpoint", "moment", "view", "club", "caption"]
        widgets = {"moment": forms.RadioSelect, "view": forms.RadioSelect}
        labels = {"moment": "Taken on"}
        error_messages = {
            "checkpoint": {"required": "Choose the checkpoint."},
            "moment": {"required": "Choose arrival or departure."},
            "view": {"required": "Choose the view."},
        }

    def __init__(self, *args: Any, lesson: Lesson, asks: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        areas = [area for area in Area if getattr(lesson, area)]
        set_choices(self, "checkpoint", checkpoint_choices(areas))
        for name in ("moment", "view"):
            field = cast(forms.TypedChoiceField, self.fields[name])
            field.choices = [choice for choice in cast(Any, field.choices) if choice[0]]
        if asks:
            self.fields["agrees"].label = AGREES.format(name=lesson.student.name)
        else:
            del self.fields["agrees"]

    def clean_picture(self) -> CleanPicture:
        """The picture as it is kept; refused with words."""
        file = cast("UploadedFile[Any]", self.cleaned_data["picture"])
        if file.size and file.size > MOST_BYTES:
            raise ValidationError(too_large(file.size))
        try:
            return clean_picture(file.read())
        except Refused as refusal:
            raise ValidationError(str(refusal)) from refusal


def checkpoint_choices(areas: list[Area]) -> list[Any]:
    """The checkpoints of these areas, under the name of each where there are several."""
    rows = list(Checkpoint.objects.filter(area__in=areas, archived=False))
    groups = [(area.label, [(row.pk, str(row)) for row in rows if row.area == area]) for area in areas]
    return groups if len(areas) > 1 else [choice for _, choices in groups for choice in choices]
