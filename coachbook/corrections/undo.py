"""Undoing a correction: every field gets its earlier value back, or none does."""

from datetime import datetime
from itertools import groupby
from typing import Any

from django.apps import apps
from django.core.exceptions import ValidationError
from django.db import IntegrityError, models, transaction
from django.db.models import F, Q

from coachbook.accounts.models import User
from coachbook.corrections.models import UNDO_PERIOD, Correction
from coachbook.corrections.recorder import CREATED, DELETED, Entry, json_value, set_history_user
from coachbook.diary.following.undo import bring_all_back
from drills.models import Prescription
from lessons.derived import recompute_student
from lessons.models import Focus

IN_USE = "Since then a focus or a drill was added that depends on this, so it cannot be undone."
TOO_LATE = f"This was more than {UNDO_PERIOD.days} days ago: it can no longer be undone."


@transaction.atomic
def undo_correction(*, correction: Correction, by: User, at: datetime) -> None:
    """Set every field back, all or nothing; what was changed since is not overwritten.

    Raises ValidationError with the reason where that cannot be.
    """
    correction = Correction.objects.select_for_update().get(pk=correction.pk)
    if correction.undone_at is not None:
        raise ValidationError("This was undone already.")
    if not correction.may_be_undone(at):
        raise ValidationError(TOO_LATE)
    check_unchanged(correction.changes)
    try:
        with transaction.atomic():
            backwards = reversed(correction.changes)
            for (label, pk), entries in groupby(backwards, key=lambda entry: (entry["model"], entry["pk"])):
                restore(label, pk, list(entries), by)
    except (IntegrityError, models.ProtectedError):
        raise ValidationError(IN_USE) from None
    if correction.rearrangement:
        bring_all_back(correction.rearrangement, by=by, at=at)
    check_separate({correction.student_id, correction.other_student_id})
    students = filter(None, (correction.student, correction.other_student))
    for student in sorted(students, key=lambda student: student.pk):
        recompute_student(student)
    correction.undone_at, correction.undone_by = at, by
    correction.save(update_fields=["undone_at", "undone_by"])


def check_unchanged(entries: list[Entry]) -> None:
    """Refuse if any of the fields has another value by now."""
    last = {(entry["model"], entry["pk"], entry["field"]): entry["after"] for entry in entries}
    for (label, pk, name), after in last.items():
        model = apps.get_model(label)
        row = model._base_manager.filter(pk=pk).first()
        if row is None and name == DELETED:
            continue
        if row is None or name == DELETED or (name != CREATED and json_value(row, field_of(model, name)) != after):
            what = str(model._meta.verbose_name)
            field = "" if row is None or name in (CREATED, DELETED) else f", {field_of(model, name).verbose_name}"
            raise ValidationError(f"This was changed since: {what}{field}. It can no longer be undone.")


def check_separate(students: set[int | None]) -> None:
    """Refuse if a lesson of one student would then open, close or continue a focus of another."""
    own = Q(opened_in__student=F("student")) & (Q(closed_in=None) | Q(closed_in__student=F("student")))
    focuses = Focus.objects.filter(student__in=students).exclude(own)
    rows = Prescription.objects.filter(Q(student__in=students) | Q(lesson__student__in=students))
    if focuses.exists() or rows.exclude(lesson__student=F("student"), focus__student=F("student")).exists():
        raise ValidationError(IN_USE)


def restore(label: str, pk: Any, entries: list[Entry], by: User) -> None:
    """Set the fields of one row back, delete a row that was created, or make one again that was deleted."""
    model = apps.get_model(label)
    if entries[0]["field"] == DELETED:
        values = {name: field_of(model, name).to_python(value) for name, value in entries[0]["before"].items()}
        row = model(**values)
        set_history_user(row, by)
        row.save(force_insert=True)
        return
    row = model._base_manager.get(pk=pk)
    set_history_user(row, by)
    if any(entry["field"] == CREATED for entry in entries):
        row.delete()
        return
    for entry in entries:
        setattr(row, entry["field"], field_of(model, entry["field"]).to_python(entry["before"]))
    row.save(update_fields=[field_of(model, entry["field"]).name for entry in entries])


def field_of(model: type[models.Model], attname: str) -> Any:
    """The field of a column."""
    return next(field for field in model._meta.concrete_fields if field.attname == attname)
