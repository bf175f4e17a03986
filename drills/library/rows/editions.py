"""Saving a row. Of two people who change one, the second is shown both versions."""

from collections.abc import Container, Iterable, Iterator
from typing import Any, NamedTuple

from django import forms
from django.forms import BoundField

from drills.library.editing.words import as_typed
from drills.library.rows.access import Row
from drills.library.rows.places import next_position


class Overtaken(Exception):
    """Somebody else saved a row while it was changed here; holds it as it is stored."""

    def __init__(self, stored: Row) -> None:
        super().__init__(stored.code)
        self.stored = stored

    @property
    def context(self) -> dict[str, Any]:
        """What a page shows of it: the row, who saved it last, and from which edition the next save begins."""
        last = self.stored.history.select_related("history_user").first()
        return {"stored": self.stored, "last": last, "edition": str(self.stored.edition)}


class Difference(NamedTuple):
    """One field that differs: as it is stored, and as it was typed."""

    label: str
    stored: str
    typed: str


def add_row(row: Row) -> None:
    """Store a new row, the last in its place."""
    row.code, row.position, row.edition = type(row).code_for(row.name), next_position(row), 1
    row.save()


def save_changes(row: Row, edition: str, names: Iterable[str], *, also: bool = False) -> list[str]:
    """Store the fields of these that were changed, or that something belonging to the row was, as the next edition.

    Returns the names of all that is stored; within a transaction. Raises Overtaken if this edition is past.
    """
    stored = type(row)._default_manager.select_for_update().get(pk=row.pk)
    if str(stored.edition) != edition:
        raise Overtaken(stored)
    changed = [name for name in names if getattr(stored, name) != getattr(row, name)]
    if not (changed or also):
        return []
    row.edition = stored.edition + 1
    row.save(update_fields=[*changed, "edition"])
    return [*changed, "edition"]


def differences(stored: forms.BaseForm, typed: forms.BaseForm, without: Container[str] = ()) -> Iterator[Difference]:
    """The fields that stand otherwise in the form of the stored row than in the one that was typed."""
    for field in typed.visible_fields():
        if field.name not in without:
            pair = in_words(stored[field.name]), in_words(field)
            if pair[0] != pair[1]:
                yield Difference(str(field.label), *pair)


def in_words(bound: BoundField) -> str:
    """What stands in a field, as a person reads it."""
    value = bound.value()
    if isinstance(bound.field, forms.BooleanField):
        return "yes" if value else "no"
    choices = getattr(bound.field, "choices", None) or getattr(bound.field.widget, "choices", None) or ()
    names = {str(key): str(label) for key, label in choices}
    values = sorted(map(str, value)) if isinstance(value, list | tuple) else [] if value is None else [str(value)]
    return as_typed("\n".join(names.get(each, each) for each in values)).replace("\r\n", "\n").strip()
