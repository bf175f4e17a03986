"""Saving a skill or fault, unless somebody else saved it meanwhile: then both versions are shown."""

from collections.abc import Iterator
from typing import Any, NamedTuple, cast

from django.db import transaction

from drills.library.editing.words import as_typed
from drills.library.skills.access import Row, area_of
from drills.library.skills.forms import FaultForm, SkillForm
from lessons.derived import recompute_for_merged
from lessons.models import Fault, Skill

RowForm = SkillForm | FaultForm


class Overtaken(Exception):
    """Somebody else saved the row while it was edited here; holds it as it is stored."""

    def __init__(self, stored: Row) -> None:
        super().__init__(stored.code)
        self.stored = stored


class Difference(NamedTuple):
    """One field that differs: as it is stored, and as it was typed."""

    label: str
    stored: str
    typed: str


def save_row(form: RowForm, edition: str) -> bool:
    """Store a valid row; whether anything changed. Raises Overtaken if this edition is past."""
    names = store_row(form, edition)
    if "skill" in names:
        recompute_for_merged([form.instance])
    return bool(names)


@transaction.atomic
def store_row(form: RowForm, edition: str) -> list[str]:
    """Store what was changed, and return the names of these fields; for a new row its code alone."""
    row: Row = form.instance
    if isinstance(form, FaultForm) and form.cleaned_data["skill"] != form.instance.counted_skill:
        form.instance.skill = form.cleaned_data["skill"]
    if row.pk is None:
        add_row(row)
        return ["code"]
    stored = type(row)._default_manager.select_for_update().get(pk=row.pk)
    if str(stored.edition) != edition:
        raise Overtaken(stored)
    names = [name for name in names_of(form) if getattr(stored, name) != getattr(row, name)]
    if names:
        row.edition = stored.edition + 1
        row.save(update_fields=[*names, "edition"])
    return names


def names_of(form: RowForm) -> list[str]:
    """The fields that a form may change."""
    return [*form.Meta.fields, *(["skill"] if isinstance(form, FaultForm) else [])]


def add_row(row: Row) -> None:
    """Store a new row, the last of its area or of its skill."""
    last = siblings(row).order_by("position").last()
    row.code, row.position, row.edition = type(row).code_for(row.name), last.position + 1 if last else 0, 1
    row.save()


def siblings(row: Row) -> Any:
    """The rows among which it has its place."""
    if isinstance(row, Skill):
        return Skill.objects.filter(area=area_of(row))
    return Fault.objects.filter(skill=row.skill)


def differences(form: RowForm, stored: Row) -> Iterator[Difference]:
    """What differs between a row as it is stored and as it was typed here."""
    for name in names_of(form):
        field = form.fields[name]
        choices = dict(cast(Any, getattr(field, "choices", None) or ()))
        pair = [in_words(getattr(row, name), choices) for row in (stored, form.instance)]
        if pair[0] != pair[1]:
            yield Difference(str(form[name].label), *pair)


def in_words(value: Any, choices: dict[Any, Any]) -> str:
    """A value as a person reads it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    values = value if isinstance(value, list) else [value]
    return as_typed(", ".join(str(choices.get(each, each)) for each in values))
