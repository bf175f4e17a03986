"""The forms of accounts: inviting somebody, choosing a password, using a one-time code."""

import re
from typing import TYPE_CHECKING, Any

from django import forms
from django.contrib.auth.forms import SetPasswordForm
from django.db import IntegrityError, transaction
from django.db.models import Q
from django.utils import timezone

from coachbook.accounts.limits import TooManyTries
from coachbook.accounts.models import Coach, Guardianship, SignInChange, Student, User
from coachbook.accounts.notices import record_change, record_new_address
from coachbook.forms import set_queryset

if TYPE_CHECKING:  # Django's forms take no type at run time
    UserModelForm = forms.ModelForm[User]
    PasswordForm = SetPasswordForm[User]
else:
    UserModelForm = forms.ModelForm
    PasswordForm = SetPasswordForm


class NewUserForm(UserModelForm):
    """The names with which a person signs in: an e-mail address, a user name, or both."""

    class Meta:
        model = User
        fields = ["email", "username"]
        labels = {"email": "E-mail", "username": "User name"}
        help_texts = {"username": "For somebody without an address, such as a child. Short, without spaces."}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].required = False

    def clean(self) -> dict[str, Any]:
        """At least one of the two; without a user name, it is made from the address."""
        data = super().clean() or self.cleaned_data
        if not data.get("username") and "username" not in self.errors and "email" not in self.errors:
            if not data.get("email"):
                self.add_error("email", "Give an e-mail address or a user name.")
            data["username"] = re.sub(r"[^\w.@+-]", "", data.get("email", ""))[:150]
        return data

    def clean_email(self) -> str:
        """An address that no other account has, in capitals or not."""
        return self.check_unused("email", self.cleaned_data["email"], "Another account has this address.")

    def clean_username(self) -> str:
        """A user name that no other account has as its user name or address, in capitals or not."""
        return self.check_unused("username", self.cleaned_data["username"] or "", "Another account has this user name.")

    def save_or_report(self) -> User | None:
        """The saved user, or None and an error where somebody else took the name at the same moment."""
        try:
            return self.save()
        except IntegrityError:
            self.add_error(None, "Another account has this name by now. Check before you send it again.")
            return None

    def check_unused(self, field: str, name: str, message: str) -> str:
        """The name, if nobody else signs in with it."""
        taken = Q(email__iexact=name) | Q(username__iexact=name)
        if name and User.objects.filter(taken).exclude(pk=self.instance.pk).exists():
            raise forms.ValidationError(message)
        return name

    def save(self, commit: bool = True) -> User:
        """The user; a new one cannot sign in before choosing a password."""
        before = User.objects.filter(pk=self.instance.pk).values_list("email", flat=True).first() or ""
        if self.instance.pk is None:
            self.instance.set_unusable_password()
        user: User = super().save(commit)
        record_new_address(user, before, timezone.now())
        return user


class InviteStudentForm(NewUserForm):
    """An account for a student who is already recorded."""

    def __init__(self, *args: Any, student: Student, **kwargs: Any) -> None:
        self.student = student
        super().__init__(*args, instance=student.user or User(name=student.name), **kwargs)

    def clean(self) -> dict[str, Any]:
        """Refuse accounts of colleagues and guardians, and closed ones: the link would open more than a student's."""
        user = self.instance
        if user.pk and (user.is_manager or user.is_coach):
            raise forms.ValidationError("This person also works at the academy. Ask a manager for a new link.")
        if user.pk and not user.is_opened and user.guardianships.exists():
            raise forms.ValidationError("This person is also a guardian. A manager makes the link, on the page People.")
        if not user.is_active:
            raise forms.ValidationError("This account is closed. A manager can reopen it.")
        return super().clean()

    @transaction.atomic
    def save(self, commit: bool = True) -> User:
        """The account, linked to the student."""
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

    def __init__(self, *args: Any, students: Any, by: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.by = by
        set_queryset(self, "child", students)

    def clean(self) -> dict[str, Any]:
        """A guardian needs a child."""
        data = super().clean()
        if data.get("role") == "guardian" and not data.get("child"):
            self.add_error("child", "Choose whose guardian this person is.")
        return data

    @transaction.atomic
    def save(self, commit: bool = True) -> User:
        """The account, as a coach's, a guardian's or a manager's."""
        role = self.cleaned_data["role"]
        self.instance.is_manager = role == "manager"
        user = super().save(commit)
        if role == "coach":
            Coach.objects.create(user=user)
        if role == "guardian":
            Guardianship.objects.create(guardian=user, student=self.cleaned_data["child"], made_by=self.by)
        return user


class ChoosePasswordForm(PasswordForm):
    """The password of an invited person; without an e-mail address it is asked for as a few words."""

    def __init__(self, user: User, *args: Any, **kwargs: Any) -> None:
        super().__init__(user, *args, **kwargs)
        if not user.email:
            self.fields["new_password1"].label = "Your words"
            self.fields["new_password2"].label = "The same words again"

    def save(self, commit: bool = True) -> User:
        """The user with the new password; who had one before is let know."""
        was_used = self.user.has_usable_password()
        user = super().save(commit)
        if was_used:
            record_change(user, SignInChange.What.PASSWORD, timezone.now())
        return user


class CodeInput(forms.TextInput):
    """A text field that never shows its value again: a code is typed anew each time."""

    def format_value(self, value: Any) -> None:
        """No value."""


class OneTimeCodeForm(forms.Form):
    """A user name and the one-time code from a slip of paper."""

    WRONG = (
        "This user name and this code do not match. Check your slip. A code works once, and only for a few days; your "
        "coach can print a new one."
    )
    TOO_MANY = str(TooManyTries("five minutes"))
    attributes = {"autocapitalize": "none", "spellcheck": "false"}
    username = forms.CharField(
        max_length=150, label="User name", widget=forms.TextInput({"autocomplete": "username", **attributes})
    )
    code = forms.CharField(
        max_length=60,
        label="Code",
        help_text="Twelve letters. Capitals and spaces do not matter.",
        widget=CodeInput({"autocomplete": "one-time-code", "spellcheck": "false"}),
    )


class AddressForm(forms.Form):
    """A new address for one's own account."""

    email = forms.EmailField(
        max_length=254, label="New e-mail address", widget=forms.EmailInput({"autocomplete": "email"})
    )

    def __init__(self, data: Any = None, *, user: User) -> None:
        super().__init__(data)
        self.user = user

    def clean_email(self) -> str:
        """Another one than the account has."""
        email: str = self.cleaned_data["email"]
        if email.casefold() == self.user.email.casefold():
            raise forms.ValidationError("Your account has this address already.")
        return email
