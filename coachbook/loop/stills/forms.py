"""The forms by which a still is taken, and what it shows is said again."""

from typing import TYPE_CHECKING, Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.db.models import Q
from django.utils.text import capfirst

from coachbook.accounts.models import Area
from coachbook.forms import set_choices
from lessons.models import Checkpoint, Lesson, Still
from lessons.stills.picture import MOST_BYTES, CleanPicture, PictureProblem, clean_picture, too_large

ASKED = (
    "Asked once: whether this site may keep single pictures of {name}, without place or camera, and show them to "
    "{name}, the coaches who teach {name} and the managers."
)


if TYPE_CHECKING:  # Django's forms take no type at run time
    StillModelForm = forms.ModelForm[Still]
else:
    StillModelForm = forms.ModelForm


class WordsForm(StillModelForm):
    """What a still shows: checkpoint, moment, view, club, caption."""

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

    def __init__(self, *args: Any, lesson: Lesson, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        own = self.instance.checkpoint_id
        set_choices(self, "checkpoint", checkpoint_choices(lesson.areas, own))
        for name in ("moment", "view"):
            field = cast(forms.TypedChoiceField, self.fields[name])
            set_choices(self, name, [(value, capfirst(label)) for value, label in cast(Any, field.choices) if value])


class StillForm(WordsForm):
    """A picture with what it shows; from an adult whom nobody has asked yet, once, that they agree."""

    picture = forms.FileField(
        label="Picture",
        help_text="JPEG, PNG or WebP, 12 MB at most. Where it was taken and by which camera is not kept.",
        widget=forms.FileInput({"accept": "image/jpeg,image/png,image/webp"}),
        allow_empty_file=True,
        error_messages={"required": "Choose a picture.", "invalid": "Choose a picture."},
    )
    agrees = forms.BooleanField(error_messages={"required": "Ask first, and tick this once they agree."})
    field_order = ["picture", *WordsForm.Meta.fields, "agrees"]

    def __init__(self, *args: Any, lesson: Lesson, asks: bool, **kwargs: Any) -> None:
        super().__init__(*args, lesson=lesson, **kwargs)
        if asks:
            name = lesson.student.name
            self.fields["agrees"].label, self.fields["agrees"].help_text = f"{name} agrees", asked_text(name)
        else:
            del self.fields["agrees"]

    def clean_picture(self) -> CleanPicture:
        """The picture as it is kept; refused with words."""
        file = cast("UploadedFile[Any]", self.cleaned_data["picture"])
        if file.size and file.size > MOST_BYTES:
            raise ValidationError(too_large(file.size))
        try:
            return clean_picture(file.read())
        except PictureProblem as refusal:
            raise ValidationError(str(refusal)) from refusal


def asked_text(name: str) -> str:
    """What an adult is asked before the first picture of them is kept; it is stored with their answer."""
    return ASKED.replace("{name}", name)


def checkpoint_choices(areas: list[Area], own: int | None = None) -> list[Any]:
    """The checkpoints of these areas and the one that a still has, under the name of each area where there are more."""
    rows = list(Checkpoint.objects.filter(Q(area__in=areas, archived=False) | Q(pk=own)))
    named = [area for area in Area if any(row.area == area for row in rows)]
    groups = [(area.label, [(row.pk, str(row)) for row in rows if row.area == area]) for area in named]
    return groups if len(groups) > 1 else [choice for _, choices in groups for choice in choices]
