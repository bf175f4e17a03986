"""Merging a row into another one of its kind and area, and taking that back."""

from collections.abc import Iterable
from typing import Any, NamedTuple

from django import forms
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import QuerySet

from coachbook.accounts.models import Area
from drills.library.rows.access import Row
from drills.library.rows.places import area_of, in_its_area
from drills.models import Drill, Fit, Prescription, UsualDrill
from lessons.derived import recompute_for_merged
from lessons.models import Fault, Focus, Lesson, Skill


class Touched(NamedTuple):
    """What is counted differently after a merge."""

    lessons: int
    open_focuses: int = 0
    faults: int = 0  # those of a skill, which then stand with the other one
    is_of_other_skill: bool = False  # a fault that is counted under another skill
    usual: int = 0  # coaches who have a drill as usual


class MergeForm(forms.Form):
    """Into what a row is merged: another of the academy's, in the same area."""

    into = forms.CharField(label="Merge into", max_length=60)

    def __init__(self, *args: Any, row: Row, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.row = row
        rows = joined(in_its_area(row)).filter(owner=None, archived=False).exclude(pk=row.pk)
        choices = [("", "choose"), *((other.code, named(other)) for other in rows)]
        self.fields["into"].widget = forms.Select(choices=choices)

    def clean_into(self) -> Row:
        """A row into which this one can be merged."""
        rows = joined(type(self.row)._default_manager.filter(code=self.cleaned_data["into"], owner=None))
        found: Row | None = rows.first()
        if found is None:
            raise ValidationError("Choose one of the academy’s from the list.")
        if problem := problem_of(self.row, found):
            raise ValidationError(problem)
        return found


def joined(rows: QuerySet[Any]) -> QuerySet[Any]:
    """Rows in the order of the catalogue, with what their names and areas need."""
    if rows.model is Fault:
        rows = rows.select_related("merged_into", "skill__merged_into")
        return rows.order_by("skill__position", "skill", "position", "pk")
    return rows.select_related("merged_into").order_by("position", "pk")


def named(row: Row) -> str:
    """A row in a list of all: a fault with its skill."""
    return f"{row.counted_skill}: {row}" if isinstance(row, Fault) else str(row)


def problem_of(row: Row, other: Row) -> str:
    """Why a row cannot be merged into another; empty if it can."""
    if other.pk == row.pk:
        return "It cannot be merged into itself."
    if other.merged_into_id == row.pk:
        return f"{other} was merged into this one. Undo that first."
    if area_of(other) != area_of(row):
        return f"{other} belongs to {Area(area_of(other)).label.lower()}. Choose one of the same area."
    return f"{other} is archived. Choose one that is offered." if other.archived else ""


def touched_by(row: Row, other: Row) -> Touched:
    """How many lessons and open focuses, of all students, a merge counts differently."""
    rows = [row, *row.merged_rows()]
    if isinstance(row, Drill):
        given = Prescription.objects.filter(drill__in=rows).values("lesson").distinct().count()
        return Touched(given, usual=UsualDrill.objects.filter(drill=row).values("coach").distinct().count())
    if isinstance(row, Skill):
        seen, focuses = {"looks__observations__skill__in": rows}, {"fault__skill__in": rows}
        faults, is_other = Fault.objects.filter(skill__in=rows, archived=False).count(), False
    else:
        seen, focuses, faults = {"looks__observations__seen_faults__fault__in": rows}, {"fault__in": rows}, 0
        is_other = isinstance(row, Fault) and isinstance(other, Fault) and other.counted_skill != row.counted_skill
    lessons = Lesson.objects.filter(**seen).distinct().count()
    return Touched(lessons, Focus.objects.filter(closed_in=None, **focuses).count(), faults, is_other)


def merge(row: Row, other: Row) -> None:
    """Count a row as another from now on. Raises ValidationError where that has become impossible meanwhile."""
    recompute(store_merge(row, other))


@transaction.atomic
def store_merge(row: Row, other: Row) -> list[Row]:
    """Store a merge; returns the rows that are counted as another. What follows is recomputed later, unlocked."""
    rows = locked(row, other)
    if problem := problem_of(rows[row.pk], rows[other.pk]):
        raise ValidationError(problem)
    rows[row.pk].offered_at = None
    changed: list[Row] = rows[row.pk].merge_into(rows[other.pk])
    if isinstance(row, Drill):
        hand_over_usual(row, rows[other.pk])
    return changed


def take_merge_back(row: Row) -> None:
    """Count a row for itself again."""
    with transaction.atomic():
        stored = locked(row)[row.pk]
        survivor = stored.counted
        changed: list[Row] = [*stored.take_merge_back()] if stored.merged_into_id else []
        if isinstance(row, Drill):
            give_usual_back(row, survivor)
    recompute(changed)


def locked(*rows: Row) -> dict[int, Any]:
    """Rows of one kind as they are stored, by their primary keys; nobody else changes them meanwhile."""
    kind = joined(type(rows[0])._default_manager.all())
    return {row.pk: row for row in kind.filter(pk__in=[row.pk for row in rows]).select_for_update(of=("self",))}


def recompute(changed: Iterable[Row]) -> None:
    """Recompute what was derived from looks at the skills and faults among these rows."""
    recompute_for_merged([row for row in changed if isinstance(row, Skill | Fault)])


# --- A coach's usual drills -----------------------------------------------------------------------


def hand_over_usual(drill: Drill, other: Drill) -> None:
    """Whoever had a drill as usual has the other one, unless that is wrong for the fault."""
    wrong = Fit.objects.filter(drill=other, is_wrong=True).values("fault")
    for usual in UsualDrill.objects.filter(drill=drill).exclude(fault__in=wrong):
        usual.drill = other
        usual.save(update_fields=["drill"])


def give_usual_back(drill: Drill, other: Drill) -> None:
    """Whoever has the other drill as usual only since this one was merged into it has this one again."""
    for usual in UsualDrill.objects.filter(drill=other):
        before = usual.history.exclude(drill=other.pk).first()
        if before and before.drill_id == drill.pk:
            usual.drill = drill
            usual.save(update_fields=["drill"])
