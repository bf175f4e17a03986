"""What becomes of the appointments that an act touches: one choice for all, and another one for each."""

from collections.abc import Iterator
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse, QueryDict

from coachbook.diary.following.rearranging import Decision, decide
from coachbook.diary.following.touched import Choice, Touched
from coachbook.forms import render_form, set_choices

OTHERS = "The appointments or their clashes changed since this page was shown. Look at them, then confirm again."
ONLY = {Choice.CANCEL: "It is cancelled"}  # where nothing else is possible
LABELS = {Choice.MOVE: "Move to the other coach", Choice.CANCEL: "Cancel", Choice.KEEP: "Keep as they are"}


class FollowForm(forms.Form):
    """The appointments that an act touches, with what becomes of them; valid where there are none.

    It is unbound, and so shows what is usual, until somebody confirms a page that listed them.
    """

    appointments = forms.ChoiceField(
        label="What becomes of them",
        widget=forms.RadioSelect,
        error_messages={"required": "Choose one.", "invalid_choice": "Choose one of these."},
    )

    def __init__(self, data: QueryDict, touched: list[Touched]) -> None:
        super().__init__(data if "seen" in data and touched else None)
        self.touched, self.seen = touched, data.getlist("seen")
        options = self.options()
        set_choices(self, "appointments", [(choice.value, self.label(choice)) for choice in options])
        # Where one has a choice, it says what is usual; what is possible in one way only needs no choice.
        usual = [row.usual for row in sorted(touched, key=lambda row: len(row.choices) == 1)]
        self.initial["appointments"] = next((choice for choice in usual if choice in options), "")
        for row in touched:
            if len(row.choices) > 1:
                own = [(choice.value, row_label(row, choice)) for choice in row.choices]
                field = forms.ChoiceField(label="This one", choices=[("", "As chosen for all"), *own], required=False)
                self.fields[f"one-{row.appointment.key}"] = field

    def options(self) -> list[Choice]:
        """What can be chosen for all: what is possible for one of them at least."""
        possible = {choice for row in self.touched for choice in row.choices}
        if possible & {Choice.MOVE, Choice.CANCEL}:
            possible.discard(Choice.OUT)
        return [choice for choice in Choice if choice in possible]

    def label(self, choice: Choice) -> str:
        """A choice for all, with the name of the coach where it is one."""
        coaches = {str(row.to) for row in self.touched if row.to}
        if choice == Choice.MOVE and len(coaches) == 1:
            return f"Move to {coaches.pop()}"
        return LABELS.get(choice, "Take out; the others keep the appointment")

    def clean(self) -> dict[str, Any]:
        """Nothing is decided that was not shown."""
        if sorted(self.seen) != sorted(row.seen for row in self.touched):
            self.add_error("appointments", ValidationError(OTHERS))
        return self.cleaned_data

    def is_valid(self) -> bool:
        """Whether there is nothing to decide, or all of it is decided."""
        return not self.touched or super().is_valid()

    @property
    def chosen(self) -> dict[str, str]:
        """What was chosen for all, and for each one that differs, by its key."""
        typed = self.cleaned_data if self.touched else {}
        return {name.removeprefix("one-"): str(value) for name, value in typed.items() if value}

    @property
    def decisions(self) -> list[Decision]:
        """What becomes of each."""
        return decide(self.touched, self.chosen)

    @property
    def rows(self) -> Iterator[tuple[Touched, Any, str]]:
        """Each appointment with the field for it, or with what becomes of it in any case."""
        for row in self.touched:
            name = f"one-{row.appointment.key}"
            only = "" if name in self.fields else ONLY.get(row.choices[0], row_label(row, row.choices[0]))
            yield row, self[name] if name in self.fields else None, only


def row_label(row: Touched, choice: Choice) -> str:
    """A choice for one appointment."""
    if choice == Choice.MOVE:
        return f"Move to {row.to}"
    if choice == Choice.OUT:
        return f"Take {', '.join(map(str, row.students))} out; the others keep it"
    return "Cancel" if choice == Choice.CANCEL else f"Keep with {row.appointment.coach}"


def render_act(
    request: HttpRequest, template: str, form: forms.BaseForm | None, follow: FollowForm | None, context: dict[str, Any]
) -> HttpResponse:
    """The page of an act with the appointments that it touches; 422 where something is to put right."""
    response = render_form(request, template, form or forms.Form(), {**context, "follow": follow})
    if follow and follow.is_bound and follow.errors:
        response.status_code = 422
    return response
