"""The forms by which a library is chosen and taken in."""

from typing import Any

from django import forms
from django.core import signing
from django.core.exceptions import ValidationError

from coachbook.accounts.models import Area
from coachbook.forms import set_choices
from drills.library.carry.reading import LARGEST, FileProblem, read_file
from drills.models import Drill

SALT = "drills.library.carry"
LONGEST_SIGNED = 2 * LARGEST
TOO_LARGE = f"The file is too large: {LARGEST:,} bytes at most."


class ChoiceForm(forms.Form):
    """What of the library goes into a file; nothing chosen means all of it."""

    area = forms.MultipleChoiceField(label="Areas", choices=Area, required=False, widget=forms.CheckboxSelectMultiple)
    drill = forms.MultipleChoiceField(
        label="Single drills",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="Each brings its faults and their skills.",
    )

    def __init__(self, data: Any = None, *, drills: list[Drill]) -> None:
        super().__init__(data)
        set_choices(self, "drill", [(drill.code, f"{drill} ({drill.get_area_display().lower()})") for drill in drills])


class UploadForm(forms.Form):
    """A file with a library; what is read from it stands in `cleaned_data["file"]`."""

    file = forms.FileField(
        label="A file with a library",
        help_text="One that was saved on this page, here or at another academy. You see first what it would change.",
        widget=forms.FileInput(attrs={"accept": ".json,application/json"}),
    )

    def clean_file(self) -> dict[str, Any]:
        """The document in the file."""
        upload: Any = self.cleaned_data["file"]
        if (upload.size or 0) > LARGEST:
            raise ValidationError(TOO_LARGE)
        try:
            return read_file(upload.read())
        except FileProblem as problem:
            raise ValidationError(str(problem)) from None


class TakeInForm(forms.Form):
    """What a person decided on the preview, with the document that was previewed, signed by us."""

    document = forms.CharField(max_length=LONGEST_SIGNED, widget=forms.HiddenInput)
    seen = forms.CharField(max_length=64, widget=forms.HiddenInput)

    def clean_document(self) -> Any:
        """The document, as it was previewed."""
        try:
            return signing.loads(self.cleaned_data["document"], salt=SALT)
        except signing.BadSignature:
            raise ValidationError("This preview cannot be read any more. Choose the file again.") from None


def sign(document: dict[str, Any]) -> str:
    """A document that a page carries from the preview to the taking in."""
    return signing.dumps(document, salt=SALT, compress=True)
