"""A real academy's first rows: its settings and the first manager."""

import logging
from datetime import datetime
from typing import TYPE_CHECKING, Any

from django import forms
from django.db import transaction
from django.urls import reverse

from coachbook.accounts.forms import NewUserForm
from coachbook.accounts.models import Academy, Invitation, User

if TYPE_CHECKING:  # Django's forms take no type at run time
    AcademyModelForm = forms.ModelForm[Academy]
else:
    AcademyModelForm = forms.ModelForm

logger = logging.getLogger("coachbook.security")


class NewAcademyForm(AcademyModelForm):
    """What nobody can guess of an academy; its other settings have defaults and are changed in the site."""

    class Meta:
        model = Academy
        fields = ["name", "time_zone", "units", "paper"]
        labels = {
            "name": "Name of the academy",
            "time_zone": "Time zone, such as Europe/Dublin",
            "units": "Lengths are shown in",
            "paper": "Paper size of sheets",
        }

    def __init__(self, typed: dict[str, Any]) -> None:
        super().__init__(typed, instance=Academy(pk=1))
        for name in ("name", "time_zone"):  # those of the model would be wrong for nearly everybody
            self.initial[name] = self.fields[name].initial = None

    def clean_name(self) -> str:
        """On one line: it stands in the subject of mails."""
        return " ".join(self.cleaned_data["name"].split())


class FirstManagerForm(NewUserForm):
    """The first manager, who signs in with the address."""

    class Meta(NewUserForm.Meta):
        fields = ["name", "email", "username"]
        labels = {"name": "Name of the first manager", "email": "Their e-mail"}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["email"].required = True
        self.instance.is_manager = True


@transaction.atomic
def make_academy(academy: NewAcademyForm | None, manager: FirstManagerForm | None) -> User | None:
    """Store the academy and its first manager, both or neither; returns the manager."""
    if academy:
        academy.save()
    if manager is None:
        return None
    user = manager.save()
    logger.warning("account %s was made a manager by the command start", user.key)
    return user


def invite(manager: User, at: datetime) -> str:
    """The path at which a manager chooses a password, once; an earlier one ends. The command's user alone sees it."""
    return reverse("invitation", args=[Invitation.issue(manager, by=manager, at=at)])


def unopened_manager() -> User | None:
    """The one manager there is, as long as nobody has chosen the password: their link may be made anew."""
    managers = list(User.objects.filter(is_manager=True).order_by("pk")[:2])
    return managers[0] if len(managers) == 1 and not managers[0].is_opened else None
