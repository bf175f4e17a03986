"""The form for one checkpoint."""

from typing import TYPE_CHECKING, Any

from django import forms
from django.db import IntegrityError, transaction

from lessons.models import Checkpoint

TAKEN = "This area has a checkpoint of this name already. Choose another name."


if TYPE_CHECKING:  # Django's forms take no type at run time
    CheckpointModelForm = forms.ModelForm[Checkpoint]
else:
    CheckpointModelForm = forms.ModelForm


class CheckpointForm(CheckpointModelForm):
    """Its name, its place among those of its area, and whether new stills may be taken at it."""

    position = forms.IntegerField(
        label="Place among those of its area",
        min_value=0,
        max_value=99,
        error_messages=dict.fromkeys(("required", "invalid", "min_value", "max_value"), "Give a number from 0 to 99."),
    )
    is_offered = forms.BooleanField(label="Offered for new stills", required=False, initial=True)

    class Meta:
        model = Checkpoint
        fields = ["name", "position"]
        error_messages = {"name": {"required": "Give it a name.", "max_length": "Write 40 letters at most."}}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.instance.pk:
            self.initial["is_offered"] = not self.instance.archived

    def clean_name(self) -> str:
        """A name that no other checkpoint of the area has."""
        name: str = self.cleaned_data["name"]
        others = Checkpoint.objects.filter(area=self.instance.area).exclude(pk=self.instance.pk)
        if any(name.casefold() == other.casefold() for other in others.values_list("name", flat=True)):
            raise forms.ValidationError(TAKEN)
        return name

    def store(self) -> bool:
        """Store it; what stills were taken at is never deleted. False where somebody took the name meanwhile."""
        self.instance.archived = not self.cleaned_data["is_offered"]
        try:
            with transaction.atomic():
                self.save()
        except IntegrityError:
            self.add_error("name", TAKEN)
            return False
        return True
