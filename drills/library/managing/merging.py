"""What a manager does with drills: take in what a coach offers, order, and merge two that mean one thing."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import QuerySet
from simple_history.utils import update_change_reason

from drills.library.editing.forms import name_is_taken
from drills.models import Drill, Fit, UsualDrill


class MergeForm(forms.Form):
    """Into which drill of the academy's another one of its area is merged."""

    into = forms.CharField(
        label="Merge into", max_length=60, error_messages={"required": "Choose a drill from the list."}
    )

    def __init__(self, data: Any = None, *, drill: Drill) -> None:
        super().__init__(data)
        self.drill = drill
        self.others = {row.code: row for row in academys_drills(drill.area) if row.pk != drill.pk}
        names = [(code, str(row)) for code, row in self.others.items()]
        self.fields["into"].widget = forms.Select(choices=[("", "choose"), *names])

    def clean_into(self) -> Drill:
        """The other drill; never the drill itself."""
        code = self.cleaned_data["into"]
        if code == self.drill.code:
            raise ValidationError("It cannot be merged into itself.")
        if code not in self.others:
            raise ValidationError("Choose a drill from the list.")
        return self.others[code]


def academys_drills(area: str) -> QuerySet[Drill]:
    """The drills that the academy offers in an area, in their order."""
    return Drill.offered_to(None).filter(area=area).order_by("position", "code")


@transaction.atomic
def take_in(drill: Drill) -> None:
    """Make an offered drill the academy's, the last in its area. Raises ValidationError where its name is taken."""
    drill.owner = None
    if name_is_taken(drill, drill.name):
        raise ValidationError("The academy has a drill with this name already. Merge the two, or change a name.")
    last = academys_drills(drill.area).last()
    drill.offered_at, drill.position = None, last.position + 1 if last else 0
    drill.save(update_fields=["owner", "offered_at", "position"])


@transaction.atomic
def give_back(drill: Drill, word: str) -> None:
    """End an offer; the word to the coach is kept in the history of the drill."""
    drill.offered_at = None
    drill.save(update_fields=["offered_at"])
    update_change_reason(drill, word)


def word_of(drill: Drill) -> str:
    """With which word a drill was given back last; empty once it is offered again, or where it never was."""
    if drill.owner_id is None or drill.offered_at:
        return ""
    latest = drill.history.exclude(history_change_reason=None).first()
    return latest.history_change_reason or "" if latest else ""


@transaction.atomic
def move(drill: Drill, *, up: bool) -> None:
    """Let a drill change places with the one of its kind before or behind it, if there is one."""
    rows = list(academys_drills(drill.area).filter(kind=drill.kind).select_for_update())
    place = rows.index(drill)
    other = place - 1 if up else place + 1
    if not 0 <= other < len(rows):
        return
    positions = [row.position for row in rows]
    if len(set(positions)) < len(positions):  # drills that were taken in from elsewhere may share a place
        positions = list(range(min(positions), min(positions) + len(rows)))
    rows[place], rows[other] = rows[other], rows[place]
    for row, position in zip(rows, positions, strict=True):
        if row.position != position:
            row.position = position
            row.save(update_fields=["position"])


@transaction.atomic
def merge(drill: Drill, other: Drill) -> None:
    """Offer the other drill alone from now on; whoever had this one as usual has the other, unless it is wrong."""
    drill.offered_at = None
    drill.merge_into(other)
    wrong = set(Fit.objects.filter(drill=other, is_wrong=True).values_list("fault", flat=True))
    for usual in UsualDrill.objects.filter(drill=drill).exclude(fault__in=wrong):
        usual.drill = other
        usual.save(update_fields=["drill"])
