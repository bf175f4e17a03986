"""How a person comes to have an account: somebody invites them, and they choose a password."""

import re
from typing import TYPE_CHECKING, Any

from allauth.account.models import EmailAddress
from django import forms
from django.contrib.auth.forms import SetPasswordForm
from django.db import IntegrityError, transaction
from django.db.models import Q

from coachbook.accounts.models import Coach, Guardianship, Student, User
from coachbook.forms import choose_among

if TYPE_CHECKING:  # Django's forms take no type at run time
    UserModelForm = forms.ModelForm[User]
    PasswordForm = SetPasswordForm[User]
else:
    UserModelForm = forms.ModelForm
    PasswordForm = SetPasswordForm


class NewUserForm(UserModelForm):
    """The names under which a person will sign in: an e-mail address, a user name, or both."""

    class Meta:
        model = User
        fields = ["email", "username"]
        labels = {"email": "E-mail", "username": "User name"}
        help_texts = {"username": "For somebody without an address, such as a child. Short, without spaces."}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].required = False

    def clean(self) -> dict[str, Any]:
        """One of the two at least; an address serves as the user name of one who has none."""
        data = super().clean() or self.cleaned_data
        if not data.get("username") and "username" not in self.errors and "email" not in self.errors:
            if not data.get("email"):
                self.add_error("email", "Give an e-mail address or a user name.")
            data["username"] = re.sub(r"[^\w.@+-]", "", data.get("email", ""))[:150]
        return data

    def clean_email(self) -> str:
        """An address that no other account has, whatever its capitals."""
        return self.unused("email", self.cleaned_data["email"], "Another account has this address.")

    def clean_username(self) -> str:
        """A user name that no other account has, whatever its capitals, nor as its address."""
        return self.unused("username", self.cleaned_data["username"] or "", "Somebody here has this user name already.")

    def invited(self) -> User | None:
        """The person, or None with a message where somebody else took the name at the same moment."""
        try:
            return self.save()
        except IntegrityError:
            self.add_error(None, "Sent twice, or somebody has this name by now. Look before you send it again.")
            return None

    def unused(self, field: str, name: str, message: str) -> str:
        """The name, if it signs nobody else in."""
        taken = Q(email__iexact=name) | Q(username__iexact=name)
        if name and User.objects.filter(taken).exclude(pk=self.instance.pk).exists():
            raise forms.ValidationError(message)
        return name

    def save(self, commit: bool = True) -> User:
        """The person; a new one cannot sign in before they have chosen a password."""
        if self.instance.pk is None:
            self.instance.set_unusable_password()
        user: User = super().save(commit)
        EmailAddress.objects.filter(user=user).exclude(email__iexact=user.email).delete()  # a corrected one is no key
        return user


class InviteStudentForm(NewUserForm):
    """An account for a student who is already written down."""

    def __init__(self, *args: Any, student: Student, **kwargs: Any) -> None:
        self.student = student
        super().__init__(*args, instance=student.user or User(name=student.name), **kwargs)

    def clean(self) -> dict[str, Any]:
        """A link is a key to the account: nobody gets one this way to a colleague's, or to a closed one."""
        user = self.instance
        if user.pk and (user.is_manager or user.is_coach):
            raise forms.ValidationError("They also work here. Ask a manager for a new link.")
        if not user.is_active:
            raise forms.ValidationError("This account is closed. A manager can reopen it.")
        return super().clean()

    @transaction.atomic
    def save(self, commit: bool = True) -> User:
        """The account, tied to the student."""
        self.student.user = super().save(commit)
        self.student.save(update_fields=["user"])
        return self.student.user


class InvitePersonForm(NewUserForm):
    """An account for a coach, a manager or a guardian."""

    ROLES = [("coach", "coach"), ("guardian", "guardian"), ("manager", "manager")]
    role = forms.ChoiceField(choices=ROLES, widget=forms.RadioSelect)
    child = forms.ModelChoiceField(
        Student.objects.none(), required=False, label="Guardian of", help_text="Needed for a guardian only."
    )
    field_order = ["name", "role", "child", "email", "username"]

    class Meta(NewUserForm.Meta):
        fields = ["name", *NewUserForm.Meta.fields]

    def __init__(self, *args: Any, students: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choose_among(self, "child", students)

    def clean(self) -> dict[str, Any]:
        """A guardian is somebody's guardian."""
        data = super().clean()
        if data.get("role") == "guardian" and not data.get("child"):
            self.add_error("child", "Say whose guardian they are.")
        return data

    @transaction.atomic
    def save(self, commit: bool = True) -> User:
        """The account, with what makes it a coach's, a guardian's or a manager's."""
        role = self.cleaned_data["role"]
        self.instance.is_manager = role == "manager"
        user = super().save(commit)
        if role == "coach":
            Coach.objects.create(user=user)
        if role == "guardian":
            Guardianship.objects.create(guardian=user, student=self.cleaned_data["child"])
        return user


class ChoosePasswordForm(PasswordForm):
    """The password of a person who was invited; who came with a code on paper reads of words."""

    def __init__(self, user: User, *args: Any, **kwargs: Any) -> None:
        super().__init__(user, *args, **kwargs)
        if not user.email:
            self.fields["new_password1"].label = "Your words"
            self.fields["new_password2"].label = "The same words again"


class CodeInput(forms.TextInput):
    """A code is typed again each time, and never shown again."""

    def format_value(self, value: Any) -> None:
        """Nothing."""


class ComeInForm(forms.Form):
    """A user name and the code from a slip of paper."""

    CANNOT = (
        "This user name and this code do not open anything. Look at your slip once more. A slip works once, and for a "
        "few days; your coach can print a new one."
    )
    TOO_OFTEN = "Too many tries. Wait five minutes, then type it once more."
    plain = {"autocapitalize": "none", "spellcheck": "false"}
    username = forms.CharField(
        max_length=150, label="User name", widget=forms.TextInput({"autocomplete": "username", **plain})
    )
    code = forms.CharField(
        max_length=60,
        label="Code",
        help_text="Twelve letters. Small or capital, with spaces or without.",
        widget=CodeInput({"autocomplete": "one-time-code", "spellcheck": "false"}),
    )
