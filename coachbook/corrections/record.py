"""Changing rows so that the change can be taken back: what each field said before, and what it says since."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import datetime
from itertools import groupby
from typing import Any

from django.apps import apps
from django.core.exceptions import ValidationError
from django.db import IntegrityError, models, transaction
from django.db.models import F, Q

from coachbook.accounts.models import User
from coachbook.corrections.models import Amendment
from drills.models import Prescription
from lessons.derived import reckon_student
from lessons.models import Focus

Entry = dict[str, Any]
MADE = ""  # in the place of a field: the row itself was made, and goes when that is undone
GROWN = "A focus or a drill was written down since that belongs to this, too: it cannot be undone as a whole."
TOO_LATE = "This was more than 30 days ago: it can no longer be undone."


class Record:
    """The changes of one amendment, as they are made."""

    def __init__(self, by: User) -> None:
        self.by = by
        self.entries: list[Entry] = []

    def change(self, row: models.Model, **values: Any) -> None:
        """Set these fields of a row, with history of who did it, and keep what they said before."""
        with self.watched([row]):
            for name, value in values.items():
                setattr(row, name, value)
            vars(row)["_history_user"] = self.by  # what the history reads
            row.save(update_fields=list(values))

    @contextmanager
    def watched(self, rows: Iterable[Any]) -> Iterator[None]:
        """Keep what happens to these rows meanwhile."""
        stored = [row.__class__._base_manager.get(pk=row.pk) for row in rows]
        yield
        for before in stored:
            after = before.__class__._base_manager.get(pk=before.pk)
            self.entries += [
                entry_of(after, field, plain(before, field), plain(after, field))
                for field in after._meta.concrete_fields
                if plain(before, field) != plain(after, field)
            ]

    def made(self, row: models.Model, **when_undone: Any) -> None:
        """Keep that a row was made; undone, it gets these values, or goes if there are none."""
        if not when_undone:
            self.entries.append({"model": row._meta.label, "pk": row.pk, "field": MADE, "before": None, "after": True})
        ended = row.__class__(**when_undone)
        for name in when_undone:
            field: Any = row._meta.get_field(name)
            self.entries.append(entry_of(row, field, plain(ended, field), plain(row, field)))


def entry_of(row: models.Model, field: Any, before: Any, after: Any) -> Entry:
    """One field of one row, before and after."""
    return {"model": row._meta.label, "pk": row.pk, "field": field.attname, "before": before, "after": after}


def plain(row: models.Model, field: Any) -> Any:
    """A value as it lies in JSON, to the last digit."""
    value = field.value_from_object(row)
    return value if value is None or isinstance(value, bool | int | str) else field.value_to_string(row)


def field_named(model: type[models.Model], attname: str) -> Any:
    """The field of a column."""
    return next(field for field in model._meta.concrete_fields if field.attname == attname)


@transaction.atomic
def undo(*, amendment: Amendment, by: User, at: datetime) -> None:
    """Put every field back as it was, all or nothing; what was changed since is not written over."""
    amendment = Amendment.objects.select_for_update().get(pk=amendment.pk)
    if amendment.undone_at is not None:
        raise ValidationError("This was undone already.")
    if not amendment.may_be_undone(at):
        raise ValidationError(TOO_LATE)
    check_unchanged(amendment.changes)
    try:
        with transaction.atomic():
            backwards = reversed(amendment.changes)
            for (label, pk), entries in groupby(backwards, key=lambda entry: (entry["model"], entry["pk"])):
                put_back(label, pk, list(entries), by)
    except (IntegrityError, models.ProtectedError):
        raise ValidationError(GROWN) from None
    check_apart({amendment.student_id, amendment.other_student_id})
    for student in sorted(filter(None, (amendment.student, amendment.other_student)), key=lambda student: student.pk):
        reckon_student(student)
    amendment.undone_at, amendment.undone_by = at, by
    amendment.save(update_fields=["undone_at", "undone_by"])


def check_unchanged(entries: list[Entry]) -> None:
    """Refuse if any of the fields says something else by now."""
    last = {(entry["model"], entry["pk"], entry["field"]): entry["after"] for entry in entries}
    for (label, pk, name), after in last.items():
        model = apps.get_model(label)
        row = model._base_manager.filter(pk=pk).first()
        if row is None or (name != MADE and plain(row, field_named(model, name)) != after):
            what = str(model._meta.verbose_name)
            field = "" if row is None or name == MADE else f", {field_named(model, name).verbose_name}"
            raise ValidationError(f"This was changed since: {what}{field}. So it cannot be undone.")


def check_apart(students: set[int | None]) -> None:
    """Refuse if a lesson of one student would open, close or go on with what is another one's."""
    own = Q(opened_in__student=F("student")) & (Q(closed_in=None) | Q(closed_in__student=F("student")))
    focuses = Focus.objects.filter(student__in=students).exclude(own)
    rows = Prescription.objects.filter(Q(student__in=students) | Q(lesson__student__in=students))
    if focuses.exists() or rows.exclude(lesson__student=F("student"), focus__student=F("student")).exists():
        raise ValidationError(GROWN)


def put_back(label: str, pk: Any, entries: list[Entry], by: User) -> None:
    """Set the fields of one row back, or take away a row that was made."""
    model = apps.get_model(label)
    row = model._base_manager.get(pk=pk)
    vars(row)["_history_user"] = by
    if any(entry["field"] == MADE for entry in entries):
        row.delete()
        return
    for entry in entries:
        setattr(row, entry["field"], field_named(model, entry["field"]).to_python(entry["before"]))
    row.save(update_fields=[field_named(model, entry["field"]).name for entry in entries])
