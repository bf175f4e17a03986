"""The form in which a person chooses what they hear of by e-mail."""

from collections.abc import Collection, Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from coachbook.accounts.models import User
from coachbook.digests.models import Kind
from coachbook.forms import set_choices

NO_ADDRESS = "Your account has no e-mail address, so nothing can be sent to you."


class MailsForm(forms.Form):
    """A box for each kind that is offered."""

    kinds = forms.MultipleChoiceField(
        label="E-mail me when there are", required=False, widget=forms.CheckboxSelectMultiple
    )

    def __init__(
        self, data: Mapping[str, Any] | None = None, *, user: User, offered: Collection[Kind], chosen: Collection[Kind]
    ) -> None:
        super().__init__(data, initial={"kinds": [kind.value for kind in chosen]})
        self.user = user
        set_choices(self, "kinds", [(kind.value, kind.label) for kind in offered])

    def clean_kinds(self) -> list[Kind]:
        """The kinds; none without an address to which they could go."""
        kinds = [Kind(value) for value in self.cleaned_data["kinds"]]
        if kinds and not self.user.email:
            raise ValidationError(NO_ADDRESS)
        return kinds
