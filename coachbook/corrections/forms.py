"""What is asked before a mistake is put right."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from coachbook.accounts.models import Student, StudentQuerySet
from coachbook.corrections.merge import merge_problem
from coachbook.corrections.move import problem_of, told_in
from coachbook.forms import choose_among
from lessons.models import Lesson


def student_field(label: str) -> "forms.ModelChoiceField[Student]":
    """A field for one of the students with whom the person may do this."""
    told = {"required": "Choose a student.", "invalid_choice": "Choose one of the students whom you look after."}
    queryset = Student.objects.none()
    return forms.ModelChoiceField(queryset, label=label, empty_label="Choose a student", error_messages=told)


def reason_field() -> forms.CharField:
    """A field for the reason of a third focus."""
    return forms.CharField(
        label="Reason for a third focus",
        required=False,
        max_length=200,
        help_text="Only if two are open already.",
        error_messages={"max_length": "Write 200 characters at most."},
    )


class MoveForm(forms.Form):
    """To whom a lesson belongs, and what becomes of the practice that was reported of it."""

    ALONG, BACK = "along", "back"
    to = student_field("The right student")
    practice = forms.ChoiceField(
        label="The practice that was reported of these drills",
        choices=[(ALONG, "It goes along"), (BACK, "It is taken back")],
        widget=forms.RadioSelect,
        error_messages={"required": "Choose one of the two.", "invalid_choice": "Choose one of the two."},
    )
    reason = reason_field()

    def __init__(self, data: Mapping[str, Any] | None, *, lesson: Lesson, students: StudentQuerySet) -> None:
        super().__init__(data)
        self.lesson = lesson
        choose_among(self, "to", students)
        if not told_in(lesson):
            del self.fields["practice"]

    def clean_to(self) -> Student:
        """Somebody else, who has no lesson there yet."""
        to: Student = self.cleaned_data["to"]
        if problem := problem_of(self.lesson, to):
            raise ValidationError(problem)
        return to

    @property
    def decided(self) -> dict[str, Any]:
        """What was decided, for `move_lesson`."""
        data = self.cleaned_data
        return {"to": data["to"], "reason": data["reason"], "strikes": data.get("practice") == self.BACK}


class MergeForm(forms.Form):
    """Who somebody really is."""

    into = student_field("Who they are")
    reason = reason_field()

    def __init__(self, data: Mapping[str, Any] | None, *, first: Student, students: StudentQuerySet) -> None:
        super().__init__(data)
        self.first = first
        choose_among(self, "into", students)

    def clean_into(self) -> Student:
        """Somebody else, of whom nothing speaks against it."""
        into: Student = self.cleaned_data["into"]
        if problem := merge_problem(self.first, into):
            raise ValidationError(problem)
        return into
