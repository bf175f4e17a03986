"""The forms by which a file with students is chosen and taken in."""

from typing import Any

from django import forms
from django.core import signing
from django.core.exceptions import ValidationError

from coachbook.csv_file import CsvProblem, read_csv
from coachbook.loop.students_file.columns import LARGEST, MOST_ROWS

SALT = "coachbook.loop.students_file"
HOURS = 12  # after which a preview must be made anew
TOO_LARGE = f"The file is too large: {LARGEST:,} bytes and {MOST_ROWS:,} rows at most. Divide it into several files."
UNREADABLE = "This preview cannot be read any more. Choose the file again; nothing was stored."


class StudentsFileForm(forms.Form):
    """A file with students; its table stands in `cleaned_data["file"]`."""

    file = forms.FileField(
        label="A file with students (CSV)",
        help_text="You see first what would be stored.",
        widget=forms.FileInput(attrs={"accept": ".csv,.txt,text/csv"}),
        error_messages={"empty": "This file is empty."},
    )

    def clean_file(self) -> list[list[str]]:
        """The cells of the file."""
        upload: Any = self.cleaned_data["file"]
        if (upload.size or 0) > LARGEST:
            raise ValidationError(
                f"The file is too large: {LARGEST:,} bytes and {MOST_ROWS:,} rows at most. Divide it."
            )
        try:
            return read_csv(upload.read(), most_rows=MOST_ROWS)
        except CsvProblem as problem:
            raise ValidationError(str(problem)) from None


class TakeInStudentsForm(forms.Form):
    """The table that was previewed, signed by us for one person, and how many rows of it were new."""

    table = forms.CharField(max_length=3 * LARGEST, widget=forms.HiddenInput)
    new = forms.IntegerField(min_value=1, max_value=MOST_ROWS, widget=forms.HiddenInput)

    def __init__(self, *args: Any, person: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.person = person

    def clean_table(self) -> list[list[str]]:
        """The table, as this person previewed it."""
        try:
            table = signing.loads(self.cleaned_data["table"], salt=salt_of(self.person), max_age=HOURS * 3600)
        except signing.BadSignature:
            raise ValidationError(UNREADABLE) from None
        return list(table)


def sign(table: list[list[str]], person: int) -> str:
    """A table that a page carries from the preview to the taking in: it is kept nowhere else."""
    return signing.dumps(table, salt=salt_of(person), compress=True)


def salt_of(person: int) -> str:
    """What makes a preview worth nothing to anybody else."""
    return f"{SALT}.{person}"
