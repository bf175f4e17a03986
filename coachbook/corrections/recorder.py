"""Changing rows so that the change can be undone: every changed field, with its value before and after."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import Any

from django.db import models

from coachbook.accounts.models import User

Entry = dict[str, Any]
CREATED = ""  # in place of a field's name: the row itself was created, and undoing deletes it
DELETED = "-"  # the row was deleted; `before` holds all its fields, and undoing makes it again


class ChangeRecorder:
    """The changes of one correction, in the order in which they are made."""

    def __init__(self, by: User) -> None:
        self.by = by
        self.entries: list[Entry] = []

    def change(self, row: models.Model, **values: Any) -> None:
        """Set these fields of a row, with a line of history, and record their values before and after."""
        with self.recording([row]):
            for name, value in values.items():
                setattr(row, name, value)
            set_history_user(row, self.by)
            row.save(update_fields=list(values))

    @contextmanager
    def recording(self, rows: Iterable[Any]) -> Iterator[None]:
        """Record whatever changes in these rows inside the block."""
        stored = [row.__class__._base_manager.get(pk=row.pk) for row in rows]
        yield
        for before in stored:
            self.differing(before, before.__class__._base_manager.get(pk=before.pk))

    def compare(self, before: Iterable[models.Model], after: Iterable[models.Model]) -> None:
        """Record in what some rows differ from what they were: deleted, changed and created ones, in this order."""
        then, now = {row.pk: row for row in before}, {row.pk: row for row in after}
        for pk in then.keys() - now.keys():
            row = then[pk]
            values = {field.attname: json_value(row, field) for field in row._meta.concrete_fields}
            entry = {"model": row._meta.label, "pk": pk, "field": DELETED, "before": values, "after": None}
            self.entries.append(entry)
        for pk in then.keys() & now.keys():
            self.differing(then[pk], now[pk])
        for pk in now.keys() - then.keys():
            self.created(now[pk])

    def differing(self, before: models.Model, after: models.Model) -> None:
        """Record each field in which a row differs from what it was."""
        self.entries += [
            entry_of(after, field, json_value(before, field), json_value(after, field))
            for field in after._meta.concrete_fields
            if json_value(before, field) != json_value(after, field)
        ]

    def created(self, row: models.Model, **when_undone: Any) -> None:
        """Record that a row was created; undoing sets these values, or deletes the row if there are none."""
        if not when_undone:
            label = row._meta.label
            self.entries.append({"model": label, "pk": row.pk, "field": CREATED, "before": None, "after": True})
        undone = row.__class__(**when_undone)
        for name in when_undone:
            field: Any = row._meta.get_field(name)
            self.entries.append(entry_of(row, field, json_value(undone, field), json_value(row, field)))


def entry_of(row: models.Model, field: Any, before: Any, after: Any) -> Entry:
    """One field of one row, before and after."""
    return {"model": row._meta.label, "pk": row.pk, "field": field.attname, "before": before, "after": after}


def json_value(row: models.Model, field: Any) -> Any:
    """A field's value as JSON holds it, without rounding."""
    value = field.value_from_object(row)
    return value if value is None or isinstance(value, bool | int | str) else field.value_to_string(row)


def set_history_user(row: models.Model, user: User) -> None:
    """Name the person whom the history of this row records at its next save."""
    vars(row)["_history_user"] = user
