"""The forms of messages and guardians."""

from datetime import date
from functools import cached_property
from typing import Any

from django import forms
from django.db.models import Q

from coachbook.accounts.models import Academy, Student, User
from coachbook.family.models import MAX_LENGTH
from coachbook.http import parse_key
from drills.models import PracticeEntry


class MultilineField(forms.CharField):
    """Text of several lines; a browser sends two characters for the end of a line but counts one."""

    widget = forms.Textarea({"rows": 4})

    def to_python(self, value: Any) -> Any:
        """The text with one character for the end of each line."""
        text = super().to_python(value)
        return text.replace("\r\n", "\n") if isinstance(text, str) else text


class MessageForm(forms.Form):
    """A message, by itself or as the answer to a note that came with practice from home."""

    text = MultilineField(max_length=MAX_LENGTH, label="Your message")
    answers = forms.CharField(required=False, max_length=36, widget=forms.HiddenInput)

    def __init__(self, *args: Any, student: Student, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.student = student

    @cached_property
    def note(self) -> PracticeEntry | None:
        """The note of this student that it answers, if it is one."""
        asked = self.cleaned_data.get("answers") if self.is_bound else self.initial.get("answers")
        key = parse_key(asked or "")
        notes = PracticeEntry.objects.filter(prescription__student=self.student).exclude(note="")
        return notes.select_related("prescription__drill").filter(key=key).first() if key else None


class GuardianForm(forms.Form):
    """A guardian, by the name under which they sign in."""

    login = forms.CharField(
        max_length=254,
        label="Their e-mail or user name",
        help_text="As they sign in, and as the page People shows it.",
        widget=forms.TextInput({"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"}),
    )

    def __init__(self, *args: Any, student: Student, academy: Academy, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.student, self.academy, self.today = student, academy, today

    def clean_login(self) -> User:
        """A person with an open account who is of age."""
        name = self.cleaned_data["login"]
        person = User.objects.select_related("student").filter(Q(email__iexact=name) | Q(username__iexact=name)).first()
        if person is None:
            raise forms.ValidationError("No account has this name. Invite this person first.")
        if person.pk == self.student.user_id:
            raise forms.ValidationError("This is the student’s own account.")
        if not person.is_active:
            raise forms.ValidationError("This account is closed. Reopen it first.")
        if hasattr(person, "student") and person.student.is_junior(self.today, self.academy.adult_at):
            raise forms.ValidationError("This person is not of age, or nobody has recorded their age yet.")
        return person
