"""Who changed what and when, from the history of the rows: names of fields, never their contents."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import QuerySet

from coachbook.accounts.models import Care, Consent, Guardianship, Pause, Student
from coachbook.corrections.models import Correction
from coachbook.loop.models import Sheet
from lessons.models import Focus, Lesson

UNKNOWN = "Not known who"
# For each model: the path to the student, what the page calls it, and the fields that it leaves out.
KINDS: list[tuple[Any, str, str, frozenset[str]]] = [
    (Student, "id", "the student", frozenset({"key", "merged_into", "walked_in"})),
    (Care, "student", "a coach", frozenset()),
    (Guardianship, "student", "a guardian", frozenset()),
    (Consent, "student", "a consent", frozenset({"text_shown"})),
    (Pause, "student", "a pause", frozenset({"key"})),
    (Lesson, "student", "a lesson", frozenset({"key"})),
    (Focus, "student", "a focus", frozenset({"key", "slot"})),
    (Sheet, "lesson__student", "a sheet", frozenset({"key", "content"})),
]


@dataclass(frozen=True)
class Change:
    """One line of the page: who did what and when; a correction comes with its button."""

    at: datetime
    who: str
    summary: str
    correction: Correction | None = None
    is_undoable: bool = False


def changes_of(student: Student, at: datetime) -> list[Change]:
    """Every change of a student's record, the newest first, in a constant number of queries."""
    changes = [change for kind in KINDS for change in recorded_changes(student, *kind)]
    for row in Correction.objects.about(student).latest_first():
        changes.append(Change(row.at, row.by.name, row.summary, row, row.may_be_undone(at)))
    return sorted(changes, key=lambda change: change.at, reverse=True)


def recorded_changes(student: Student, model: Any, path: str, name: str, left_out: frozenset[str]) -> Iterator[Change]:
    """The changes in the history of one model, the oldest first."""
    tracked = {field.attname: field for field in model._meta.concrete_fields if field.name not in left_out}
    columns = [column for column in tracked if column in {field.attname for field in model.history.model._meta.fields}]
    before: dict[int, dict[str, Any]] = {}
    for row in history_rows(student, model, path, columns):
        earlier = before.get(row["id"])
        changed = [column for column in columns if earlier and earlier[column] != row[column]]
        before[row["id"]] = row
        if summary := summarise(row, name, [str(tracked[column].verbose_name) for column in changed]):
            yield Change(row["history_date"], row["history_user__name"] or UNKNOWN, summary)


def history_rows(student: Student, model: Any, path: str, columns: list[str]) -> QuerySet[Any, dict[str, Any]]:
    """The history of a student's rows of one model, the oldest first."""
    history = model.history.filter(**{path: student.pk}).order_by("history_date", "history_id")
    rows: QuerySet[Any, dict[str, Any]] = history.values(*columns, "history_date", "history_type", "history_user__name")
    return rows


def summarise(row: dict[str, Any], name: str, changed: list[str]) -> str:
    """One row of the history as a sentence, or an empty text where only a hidden field changed."""
    if row["history_type"] == "+":
        return f"added {name}"
    if row["history_type"] == "-":
        return f"deleted {name}"
    return f"changed {name}: {', '.join(changed)}" if changed else ""
