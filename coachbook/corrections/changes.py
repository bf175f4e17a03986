"""Who changed what and when, out of the history of the rows: names of fields, never the words in them."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import QuerySet

from coachbook.accounts.models import Care, Consent, Guardianship, Pause, Student
from coachbook.corrections.models import Amendment
from coachbook.loop.models import Sheet
from lessons.models import Focus, Lesson

SOMEBODY = "Somebody whose account is not named"
# What each kind of row is called, how it hangs on a student, and which of its fields nobody has to read of.
KINDS: list[tuple[Any, str, str, frozenset[str]]] = [
    (Student, "id", "the student", frozenset({"key", "merged_into", "walked_in"})),
    (Care, "student", "who teaches them", frozenset()),
    (Guardianship, "student", "a guardian", frozenset()),
    (Consent, "student", "a consent", frozenset({"text_shown"})),
    (Pause, "student", "a pause", frozenset({"key"})),
    (Lesson, "student", "a lesson", frozenset({"key"})),
    (Focus, "student", "a focus", frozenset({"key", "slot"})),
    (Sheet, "lesson__student", "a sheet", frozenset({"key", "content"})),
]


@dataclass(frozen=True)
class Change:
    """One line: who did what and when; an amendment brings its button along."""

    at: datetime
    who: str
    words: str
    amendment: Amendment | None = None
    is_undoable: bool = False


def changes_of(student: Student, at: datetime) -> list[Change]:
    """Everything that was changed about a student, the newest first, in a constant number of queries."""
    found = [change for kind in KINDS for change in kept(student, *kind)]
    for row in Amendment.objects.about(student).latest_first():
        found.append(Change(row.at, row.by.name, row.words, row, row.may_be_undone(at)))
    return sorted(found, key=lambda change: change.at, reverse=True)


def kept(student: Student, model: Any, path: str, called: str, left_out: frozenset[str]) -> Iterator[Change]:
    """The history of one kind of row, told in order."""
    tracked = {field.attname: field for field in model._meta.concrete_fields if field.name not in left_out}
    names = [name for name in tracked if name in {field.attname for field in model.history.model._meta.fields}]
    before: dict[int, dict[str, Any]] = {}
    for row in rows_of(student, model, path, names):
        earlier = before.get(row["id"])
        changed = [name for name in names if earlier and earlier[name] != row[name]]
        before[row["id"]] = row
        if words := in_words(row, called, [str(tracked[name].verbose_name) for name in changed]):
            yield Change(row["history_date"], row["history_user__name"] or SOMEBODY, words)


def rows_of(student: Student, model: Any, path: str, names: list[str]) -> QuerySet[Any, dict[str, Any]]:
    """What the history keeps of a student's rows, the oldest first."""
    found = model.history.filter(**{path: student.pk}).order_by("history_date", "history_id")
    rows: QuerySet[Any, dict[str, Any]] = found.values(*names, "history_date", "history_type", "history_user__name")
    return rows


def in_words(row: dict[str, Any], called: str, changed: list[str]) -> str:
    """What one row of the history says, or nothing where only a hidden field changed."""
    if row["history_type"] == "+":
        return f"wrote down {called}"
    if row["history_type"] == "-":
        return f"took away {called}"
    return f"changed {called}: {', '.join(changed)}" if changed else ""
