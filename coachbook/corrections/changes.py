"""Who changed what and when, from the history of the rows, and which manager read it: never what stood there."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Exists, F, IntegerField, OuterRef, QuerySet, Subquery, Value

from coachbook.accounts.models import Care, Consent, Guardianship, Pause, RecordView, Student, User
from coachbook.corrections.models import Correction
from coachbook.corrections.words import WORD_KINDS, WordKind
from coachbook.loop.models import Sheet
from lessons.log import NoteVisibility
from lessons.models import Focus, Lesson, Look, Observation

HistoryRow = dict[str, Any]
OF_HISTORY = ("history_id", "history_date", "history_type", "history_user__name")
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
WORDS_OF = {kind.model: (name, kind) for name, kind in WORD_KINDS.items()}
# What a manager read, by the name of its address; all others are pages of the record.
PAGES = {
    "lesson": "a log",
    "sheet": "a sheet",
    "sheet_pdf": "a sheet as a PDF",
    "group_sheets": "the sheets of a group",
    "group_pdf": "the sheets of a group as a PDF",
    "messages": "the messages",
    "changes": "the changes",
    "earlier_words": "words that were overwritten",
}


@dataclass(frozen=True)
class Change:
    """One line of the page: who did what and when; a correction comes with its button."""

    at: datetime
    who: str
    summary: str
    correction: Correction | None = None
    is_undoable: bool = False
    words: tuple[str, int] | None = None  # what was overwritten: its kind, and its number in the history


def changes_of(student: Student, at: datetime, reader: User | None = None) -> list[Change]:
    """Every change of a student's record, the newest first, in a constant number of queries.

    `reader` is whom the page is for: words that they may read as they were before are linked.
    """
    changes = [change for kind in KINDS for change in recorded_changes(student, *kind, reader=reader)]
    changes += observation_changes(student, reader)
    changes += readings_of(student)
    for row in Correction.objects.about(student).latest_first():
        changes.append(Change(row.at, row.by.name, row.summary, row, row.may_be_undone(at)))
    return sorted(changes, key=lambda change: change.at, reverse=True)


def readings_of(student: Student) -> Iterator[Change]:
    """Which manager read what of a junior's record, once a day."""
    for row in RecordView.objects.filter(student=student).select_related("manager"):
        yield Change(row.at, row.manager.name, f"read {PAGES.get(row.page, 'the record')}")


def recorded_changes(
    student: Student, model: Any, path: str, name: str, left_out: frozenset[str], reader: User | None = None
) -> Iterator[Change]:
    """The changes in the history of one model, the oldest first."""
    tracked = {field.attname: field for field in model._meta.concrete_fields if field.name not in left_out}
    columns = [column for column in tracked if column in {field.attname for field in model.history.model._meta.fields}]
    rows = list(history_rows(student, model, path, columns))
    for row, earlier, latest in with_earlier(rows):
        changed = [column for column in columns if earlier and earlier[column] != row[column]]
        if summary := summarise(row, name, [str(tracked[column].verbose_name) for column in changed]):
            words = link_to_words(model, earlier, row, latest, reader)
            yield Change(row["history_date"], row["history_user__name"] or UNKNOWN, summary, words=words)


def observation_changes(student: Student, reader: User | None) -> Iterator[Change]:
    """The changes and losses of words beside what was seen; what was only ticked is not listed."""
    looks = Look.history.filter(lesson__student=student).values("id")
    coach = Look.history.filter(id=OuterRef("look_id")).values("lesson__session__coach__user")[:1]
    history = Observation.history.filter(look_id__in=looks).annotate(taught_by=Subquery(coach))
    columns = ("id", "words", "measure", "reader", "taught_by", *OF_HISTORY)
    rows = [row | {"is_here": True} for row in history.order_by("history_date", "history_id").values(*columns)]
    for row, earlier, latest in with_earlier(rows):
        changed = changed_words(WORD_KINDS["observation"], earlier, row)
        if summary := earlier and summarise(row, "what was seen", changed) if changed else "":
            words = link_to_words(Observation, earlier, row, latest, reader)
            yield Change(row["history_date"], row["history_user__name"] or UNKNOWN, summary, words=words)


def with_earlier(rows: list[HistoryRow]) -> Iterator[tuple[HistoryRow, HistoryRow | None, HistoryRow]]:
    """Each row with the one before it, and with the last one, of the same object."""
    latest, before = {row["id"]: row for row in rows}, dict[int, HistoryRow]()
    for row in rows:
        yield row, before.get(row["id"]), latest[row["id"]]
        before[row["id"]] = row


def changed_words(kind: WordKind, earlier: HistoryRow | None, row: HistoryRow) -> list[str]:
    """The fields whose words a change replaced; with the row all of its words are gone."""
    if row["history_type"] == "-":
        return [name for name in kind.fields if row[name]]
    return [name for name in kind.fields if earlier and earlier[name] != row[name]]


def link_to_words(
    model: Any, earlier: HistoryRow | None, row: HistoryRow, latest: HistoryRow, reader: User | None
) -> tuple[str, int] | None:
    """Where the words are read as they were before a change, for somebody who may read them."""
    if model not in WORDS_OF or reader is None or earlier is None or not row["is_here"]:
        return None
    name, kind = WORDS_OF[model]
    visibility = NoteVisibility(taught=row["taught_by"] == reader.pk, manages=reader.is_manager, coach="")
    is_private = not all(visibility.can_read(each[kind.reader]) for each in (earlier, row, latest) if kind.reader)
    readable = [field for field in changed_words(kind, earlier, row) if field != kind.private or not is_private]
    return (name, row["history_id"]) if readable else None


def history_rows(student: Student, model: Any, path: str, columns: list[str]) -> QuerySet[Any, HistoryRow]:
    """The history of a student's rows of one model, the oldest first."""
    history = model.history.filter(**{path: student.pk}).order_by("history_date", "history_id")
    extra: dict[str, Any] = {}
    if model in WORDS_OF:
        extra["is_here"] = Exists(model.objects.filter(pk=OuterRef("id"), student=student))
        extra["taught_by"] = F("session__coach__user") if model is Lesson else Value(None, output_field=IntegerField())
    rows: QuerySet[Any, HistoryRow] = history.annotate(**extra).values(*columns, *extra, *OF_HISTORY)
    return rows


def summarise(row: dict[str, Any], name: str, changed: list[str]) -> str:
    """One row of the history as a sentence, or an empty text where only a hidden field changed."""
    if row["history_type"] == "+":
        return f"added {name}"
    if row["history_type"] == "-":
        return f"deleted {name}"
    return f"changed {name}: {', '.join(changed)}" if changed else ""
