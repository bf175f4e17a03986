"""The forms of corrections."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from coachbook.accounts.models import Academy, Student, StudentQuerySet
from coachbook.accounts.pictures import Answer, picture_consent
from coachbook.corrections.merge import merge_problem
from coachbook.corrections.move import move_problem, reported_practice
from coachbook.forms import set_queryset
from lessons.models import Lesson


def student_field(label: str) -> "forms.ModelChoiceField[Student]":
    """A field for one of the students whose record the person may correct."""
    errors = {"required": "Choose a student.", "invalid_choice": "Choose a student from the list."}
    queryset = Student.objects.none()
    return forms.ModelChoiceField(queryset, label=label, empty_label="Choose a student", error_messages=errors)


def reason_field() -> forms.CharField:
    """A field for the reason of a third focus."""
    return forms.CharField(
        label="Reason for a third focus",
        required=False,
        max_length=200,
        help_text="Only if two are open already.",
        error_messages={"max_length": "Write 200 characters at most."},
    )


def lacks_consent(student: Student) -> bool:
    """Whether no picture of a student may be kept today."""
    academy = Academy.current()
    return picture_consent(student, academy, academy.today(timezone.now())) != Answer.GIVEN


class MoveForm(forms.Form):
    """The right student of a lesson, and what becomes of the practice that was reported on it."""

    MOVE, VOID = "move", "void"
    to = student_field("Right student")
    practice = forms.ChoiceField(
        label="Practice reported on its drills",
        choices=[(MOVE, "Move it to the right student"), (VOID, "Withdraw it")],
        widget=forms.RadioSelect,
        error_messages={"required": "Choose one of the two.", "invalid_choice": "Choose one of the two."},
    )
    HIDE, ERASE = "hide", "erase"
    stills = forms.ChoiceField(
        label="Its stills",
        required=False,
        choices=[(HIDE, "Take them along, hidden until consent is given"), (ERASE, "Erase them for good")],
        widget=forms.RadioSelect,
        help_text="Only if there is no consent to keep pictures of one of the two; else they go along as they are.",
        error_messages={"invalid_choice": "Choose one of the two."},
    )
    reason = reason_field()

    def __init__(self, data: Mapping[str, Any] | None, *, lesson: Lesson, students: StudentQuerySet) -> None:
        super().__init__(data)
        self.lesson = lesson
        set_queryset(self, "to", students)
        if not reported_practice(lesson):
            del self.fields["practice"]
        if not lesson.stills.exists():
            del self.fields["stills"]

    def clean(self) -> dict[str, Any]:
        """Stills of a student of whom none may be kept need a decision; hidden ones do not go along."""
        data, chosen = self.cleaned_data, self.cleaned_data.get("stills")
        to, asks = data.get("to"), "stills" in self.fields and "stills" not in self.errors
        if to and asks and chosen != self.ERASE and lacks_consent(self.lesson.student):
            problem = f"There is no consent to show the pictures of {self.lesson.student}, so they cannot go along."
            self.add_error("stills", f"{problem} Erase them, or ask for the consent first.")
        elif to and asks and not chosen and lacks_consent(to):
            self.add_error("stills", f"There is no consent to keep pictures of {to}. Choose one of the two.")
        return data

    def clean_to(self) -> Student:
        """Another student, who has no lesson in that session yet."""
        to: Student = self.cleaned_data["to"]
        if problem := move_problem(self.lesson, to):
            raise ValidationError(problem)
        return to

    @property
    def decisions(self) -> dict[str, Any]:
        """The arguments for `move_lesson`."""
        data = self.cleaned_data
        return {"to": data["to"], "reason": data["reason"], "voids_practice": data.get("practice") == self.VOID}

    @property
    def erases_stills(self) -> bool:
        """Whether the stills are erased, since there is no consent to keep them."""
        is_chosen = self.cleaned_data.get("stills") == self.ERASE
        return is_chosen and any(map(lacks_consent, (self.lesson.student, self.cleaned_data["to"])))


class MergeForm(forms.Form):
    """The student into whom a duplicate is merged."""

    into = student_field("The same person as")
    reason = reason_field()

    def __init__(self, data: Mapping[str, Any] | None, *, duplicate: Student, students: StudentQuerySet) -> None:
        super().__init__(data)
        self.duplicate = duplicate
        set_queryset(self, "into", students)

    def clean_into(self) -> Student:
        """Another student, with whom a merge is possible."""
        into: Student = self.cleaned_data["into"]
        if problem := merge_problem(self.duplicate, into):
            raise ValidationError(problem)
        return into
