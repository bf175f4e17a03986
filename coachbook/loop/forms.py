"""What is written down about a student, and how they are invited."""

from datetime import date
from typing import TYPE_CHECKING, Any

from django import forms
from django.db import transaction

from coachbook.accounts.models import Area, Care, Coach, Student, User
from coachbook.forms import choose_among

if TYPE_CHECKING:  # Django's forms take no type at run time
    StudentModelForm = forms.ModelForm[Student]
else:
    StudentModelForm = forms.ModelForm


class StudentForm(StudentModelForm):
    """A student's details; only the name must be known."""

    coach = forms.ModelChoiceField(Coach.objects.none(), required=False, label="Main coach")

    class Meta:
        model = Student
        fields = [
            "name",
            *(f"{area}_side" for area in Area.values),
            "birth_year",
            "status",
        ]
        widgets = {
            **{f"{area}_side": forms.RadioSelect for area in Area.values},
            "name": forms.TextInput({"autocomplete": "off"}),
            "birth_year": forms.TextInput({"inputmode": "numeric"}),
        }
        help_texts = {
            "putting_side": "Ask which side they play from, area by area: some putt left and chip right.",
            "birth_year": "The year only. Until the year they come of age is over, a guardian decides with them.",
        }

    def __init__(self, *args: Any, user: User, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.user, self.today = user, today
        self.is_new = self.instance.pk is None
        if self.is_new and not user.is_coach:
            choose_among(self, "coach", Coach.objects.filter(user__is_active=True).select_related("user"))
            self.fields["coach"].required = True
        else:
            del self.fields["coach"]

    def clean_birth_year(self) -> int | None:
        """A year in which somebody who plays can have been born."""
        year: int | None = self.cleaned_data["birth_year"]
        if year is not None and not self.today.year - 110 <= year < self.today.year:
            raise forms.ValidationError(f"Type the year in four digits, before {self.today.year}.")
        return year

    @transaction.atomic
    def save(self, commit: bool = True) -> Student:
        """Save the student; a new one comes into their coach's care today."""
        student: Student = super().save(commit)
        if self.is_new:
            coach = self.cleaned_data.get("coach") or self.user.coach
            Care.objects.create(coach=coach, student=student, since=self.today)
        if student.user and student.user.name != student.name:
            student.user.name = student.name
            student.user.save(update_fields=["name"])
        return student
