"""What is typed about a family: a message, and who else is a guardian."""

from datetime import date
from typing import Any

from django import forms
from django.db.models import Q

from coachbook.accounts.models import Academy, Student, User
from coachbook.family.models import LONGEST


class WordsField(forms.CharField):
    """Words of several lines; a browser sends two letters for a line's end and counts one."""

    widget = forms.Textarea({"rows": 4})

    def to_python(self, value: Any) -> Any:
        """The words with each line's end as one letter."""
        words = super().to_python(value)
        return words.replace("\r\n", "\n") if isinstance(words, str) else words


class MessageForm(forms.Form):
    """A message."""

    words = WordsField(max_length=LONGEST, label="Your message")


class GuardianForm(forms.Form):
    """A guardian, by the name under which they sign in."""

    login = forms.CharField(
        max_length=254,
        label="Their e-mail or user name",
        help_text="As they sign in. It stands on the page of people.",
        widget=forms.TextInput({"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"}),
    )

    def __init__(self, *args: Any, student: Student, academy: Academy, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.student, self.academy, self.today = student, academy, today

    def clean_login(self) -> User:
        """Somebody who can come in, and who decides for themselves."""
        name = self.cleaned_data["login"]
        person = User.objects.select_related("student").filter(Q(email__iexact=name) | Q(username__iexact=name)).first()
        if person is None:
            raise forms.ValidationError("Nobody here signs in like this. Invite them first.")
        if person.pk == self.student.user_id:
            raise forms.ValidationError("This is the student’s own account.")
        if not person.is_active:
            raise forms.ValidationError("This account is closed. Reopen it first.")
        if hasattr(person, "student") and person.student.is_junior(self.today, self.academy.adult_at):
            raise forms.ValidationError("They are not of age themselves.")
        return person
