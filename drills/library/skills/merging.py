"""Merging a skill into a skill, or a fault into a fault, of the same area, and taking that back."""

from typing import Any, NamedTuple

from django import forms
from django.core.exceptions import ValidationError
from django.db import transaction

from coachbook.accounts.models import Area
from drills.library.skills.access import MODELS, Row, area_of, kind_of
from lessons.derived import recompute_for_merged
from lessons.models import Fault, Focus, Lesson, Skill


class Touched(NamedTuple):
    """What is counted differently after a merge."""

    lessons: int
    open_focuses: int
    faults: int  # those of a skill, which then stand with the other one
    is_of_other_skill: bool  # a fault that is counted under another skill


class MergeForm(forms.Form):
    """Into what a row is merged: another of the academy's, in the same area."""

    into = forms.CharField(label="Merge into", max_length=60)

    def __init__(self, *args: Any, row: Row, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.row = row
        rows = offered_rows(row).exclude(pk=row.pk)
        choices = [("", "–"), *((other.code, named(other)) for other in rows)]
        self.fields["into"].widget = forms.Select(choices=choices)

    def clean_into(self) -> Row:
        """A row into which this one can be merged."""
        found: Row | None = joined(MODELS[kind_of(self.row)]).filter(code=self.cleaned_data["into"]).first()
        if found is None or found.owner_id is not None:
            raise ValidationError("Choose one of the academy’s from the list.")
        if problem := problem_of(self.row, found):
            raise ValidationError(problem)
        return found


def offered_rows(row: Row) -> Any:
    """The academy's rows of the same kind and area, in the order of the catalogue."""
    rows = joined(type(row)).filter(owner=None, archived=False)
    if isinstance(row, Skill):
        return rows.filter(area=row.area).order_by("position", "pk")
    return rows.filter(skill__area=row.skill.area).order_by("skill__position", "skill", "position", "pk")


def joined(model: type[Row]) -> Any:
    """Rows with what their names and areas need."""
    names = ("merged_into",) if model is Skill else ("merged_into", "skill__merged_into")
    return model._default_manager.select_related(*names)


def named(row: Row) -> str:
    """A row in a list of all: a fault with its skill."""
    return str(row) if isinstance(row, Skill) else f"{row.counted_skill}: {row}"


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
    if isinstance(row, Skill):
        seen, focuses = {"looks__observations__skill__in": rows}, {"fault__skill__in": rows}
        faults, is_other = Fault.objects.filter(skill__in=rows, archived=False).count(), False
    else:
        seen, focuses, faults = {"looks__observations__seen_faults__fault__in": rows}, {"fault__in": rows}, 0
        is_other = isinstance(other, Fault) and other.counted_skill != row.counted_skill
    lessons = Lesson.objects.filter(**seen).distinct().count()
    return Touched(lessons, Focus.objects.filter(closed_in=None, **focuses).count(), faults, is_other)


def merge(row: Row, other: Row) -> None:
    """Count a row as another from now on. Raises ValidationError where that has become impossible meanwhile."""
    recompute_for_merged(store_merge(row, other))


@transaction.atomic
def store_merge(row: Row, other: Row) -> list[Row]:
    """Store a merge; returns the rows that are counted as another. What follows is recomputed later, unlocked."""
    rows = joined(type(row)).select_for_update(of=("self",)).in_bulk([row.pk, other.pk])
    if problem := problem_of(rows[row.pk], rows[other.pk]):
        raise ValidationError(problem)
    rows[row.pk].offered_at = None
    changed: list[Row] = rows[row.pk].merge_into(rows[other.pk])
    return changed


def take_merge_back(row: Row) -> None:
    """Count a row for itself again."""
    with transaction.atomic():
        stored = type(row)._default_manager.select_for_update().get(pk=row.pk)
        changed: list[Row] = [*stored.take_merge_back()] if stored.merged_into_id else []
    recompute_for_merged(changed)
