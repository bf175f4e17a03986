"""Putting a reason off, and the numbers of the rules."""

from collections.abc import Mapping
from datetime import date, datetime, timedelta
from typing import Any

from django import forms
from django.db import transaction

from coachbook.accounts.models import Student, User
from coachbook.caseload.attention.rules import RULES, Kind
from coachbook.caseload.forms import coming, day_field
from coachbook.caseload.models import MAX_NUMBER, AttentionRule, Snooze
from coachbook.forms import LongTextField

USUAL_WAIT = timedelta(days=14)


class SnoozeForm(forms.Form):
    """Until when a reason is put off, and why."""

    until = day_field("Put off until")
    why = LongTextField(label="Why", max_length=200, widget=forms.TextInput)

    def __init__(self, data: Mapping[str, Any] | None = None, *, today: date) -> None:
        super().__init__(data, initial={"until": today + USUAL_WAIT})
        self.today = today

    def clean_until(self) -> date:
        """Today or later, and not so far off that it is forgotten."""
        return coming(self.cleaned_data["until"], self.today)

    def save(self, student: Student, kind: str, by: User, at: datetime) -> Snooze:
        """Put the reason off; an earlier word on it stays below."""
        return Snooze.objects.create(student=student, kind=kind, by=by, at=at, **self.cleaned_data)


class RulesForm(forms.Form):
    """For each reason whether the list shows it, and its number."""

    def __init__(self, data: Mapping[str, Any] | None = None, *, numbers: Mapping[Kind, int], usual: int) -> None:
        super().__init__(data)
        for kind, rule in RULES.items():
            known = usual if kind == Kind.NOT_SEEN else rule.usual
            self.fields[f"{kind}-on"] = forms.BooleanField(label=rule.label, required=False, initial=kind in numbers)
            self.fields[f"{kind}-number"] = forms.IntegerField(
                label=rule.number_means.capitalize(),
                min_value=0,
                max_value=MAX_NUMBER,
                initial=numbers.get(kind, known),
                widget=forms.NumberInput({"inputmode": "numeric"}),
            )

    @transaction.atomic
    def save(self) -> None:
        """Keep the numbers; a reason that is left out keeps its own."""
        for kind in RULES:
            is_on, number = (self.cleaned_data[f"{kind}-{part}"] for part in ("on", "number"))
            AttentionRule.objects.update_or_create(kind=kind, defaults={"is_on": is_on, "number": number})
