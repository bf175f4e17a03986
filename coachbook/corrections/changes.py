"""Who changed what and when, from the history of the rows, and which manager read it: never what stood there."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import BigIntegerField, Exists, F, OuterRef, QuerySet, Subquery, TextField, Value
from django.db.models.functions import Cast

from coachbook.accounts.models import Care, Consent, Guardianship, Pause, RecordView, Student, User
from coachbook.corrections.models import Correction
from coachbook.corrections.words import WORD_KINDS, WordKind
from coachbook.diary.models import Absence
from coachbook.loop.models import Sheet
from lessons.log import NoteVisibility
from lessons.models import Focus, Lesson, Look, Observation, Still

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
    (Absence, "student", "an absence", frozenset({"key"})),
    (Lesson, "student", "a lesson", frozenset({"key"})),
    (Focus, "student", "a focus", frozenset({"key", "slot"})),
    (Sheet, "lesson__student", "a sheet", frozenset({"key", "content"})),
    (Still, "lesson__student", "a still", frozenset({"key", "name", "width", "height", "bytes"})),
    (Observation, "look_id__in", "what was seen", frozenset({"look", "skill", "verdict"})),
]
WORDS_OF = {kind.model: (name, kind) for name, kind in WORD_KINDS.items()}
# What a manager read, by the name of its address; all others are pages of the record.
PAGES = {
    "lesson": "a lesson",
    "sheet": "a sheet",
    "sheet_pdf": "a sheet as a PDF",
    "group_sheets": "the sheets of a group",
    "group_pdf": "the sheets of a group as a PDF",
    "still": "a still",
    "still_picture": "the picture of a still",
    "still_thumbnail": "pictures of stills",
    "messages": "the messages",
    "attention": "the list of who needs attention",
    "caseload_file": "the caseload as a file",
    "student_export": "everything, as a file",
    "academy_file_save": "everything of the academy, as a file",
    "erasure": "the page of the erasure",
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
    changes = [*recorded_changes(student, reader), *readings_of(student)]
    for row in Correction.objects.about(student).latest_first():
        is_theirs = row.kind != Correction.Kind.CARE or (reader is not None and reader.is_manager)
        changes.append(Change(row.at, row.by.name, row.summary, row, is_theirs and row.may_be_undone(at)))
    return sorted(changes, key=lambda change: change.at, reverse=True)


def readings_of(student: Student) -> Iterator[Change]:
    """Which manager read what of a junior's record, once a day."""
    for row in RecordView.objects.filter(student=student).select_related("manager"):
        yield Change(row.at, row.manager.name, f"read {PAGES.get(row.page, 'the record')}")


def recorded_changes(student: Student, reader: User | None) -> Iterator[Change]:
    """The changes in the history of all models, those of one model together and the oldest first."""
    rows = sorted(history_rows(student), key=lambda row: (row["part"], row["history_date"], row["history_id"]))
    for number, (model, _, name, left_out) in enumerate(KINDS):
        columns = columns_of(model, left_out)
        own = [
            row | dict(zip(columns, texts_of(row, len(columns)), strict=True)) for row in rows if row["part"] == number
        ]
        for row, earlier, latest in with_earlier(own):
            changed = [column for column in columns if earlier and earlier[column] != row[column]]
            if model is Observation:  # what was only ticked is not listed
                changed = changed_words(WORD_KINDS["observation"], earlier, row) if earlier else []
            if (changed or model is not Observation) and (summary := summarise(row, name, labels_of(model, changed))):
                words = link_to_words(model, earlier, row, latest, reader)
                yield Change(row["history_date"], row["history_user__name"] or UNKNOWN, summary, words=words)


def labels_of(model: Any, columns: list[str]) -> list[str]:
    """What the page calls these columns."""
    labels = {field.attname: str(field.verbose_name) for field in model._meta.concrete_fields}
    return [labels[column] for column in columns]


def columns_of(model: Any, left_out: frozenset[str]) -> list[str]:
    """The columns of a model whose changes are listed."""
    tracked = {field.attname for field in model.history.model._meta.fields}
    fields = [field for field in model._meta.concrete_fields if field.name not in left_out]
    return [field.attname for field in fields if field.attname in tracked]


def history_rows(student: Student) -> Iterable[HistoryRow]:
    """The history of all rows of a student in one query, every column as text."""
    width = max(len(columns_of(model, left_out)) for model, _, _, left_out in KINDS)
    parts = [history_part(student, width, number, *kind) for number, kind in enumerate(KINDS)]
    return parts[0].union(*parts[1:], all=True)


def history_part(
    student: Student, width: int, number: int, model: Any, path: str, name: str, left_out: frozenset[str]
) -> QuerySet[Any, HistoryRow]:
    """The history of a student's rows of one model, with as many columns as that of any other."""
    columns = columns_of(model, left_out)
    texts: dict[str, Any] = {f"c{place}": Cast(F(column), TextField()) for place, column in enumerate(columns)}
    texts |= {f"c{place}": Value(None, output_field=TextField()) for place in range(len(columns), width)}
    more: dict[str, Any] = {
        "part": Value(number),
        "is_here": Value(True),
        "taught_by": Cast(Value(None), BigIntegerField()),
    }
    if model in (Lesson, Focus):
        more["is_here"] = Exists(model.objects.filter(pk=OuterRef("id"), student=student))
    looks = Look.history.filter(lesson__student=student)
    if model is Lesson:
        more["taught_by"] = F("session__coach__user")
    if model is Observation:
        own_look = looks.filter(id=OuterRef("look_id")).values("lesson__session__coach__user")
        more["taught_by"] = Subquery(own_look[:1], output_field=BigIntegerField())
    value = looks.values("id") if model is Observation else student.pk
    history = model.history.filter(**{path: value}).order_by()
    rows: QuerySet[Any, HistoryRow] = history.annotate(**more, **texts).values("id", *more, *texts, *OF_HISTORY)
    return rows


def texts_of(row: HistoryRow, count: int) -> list[str | None]:
    """The columns of a row as they were read."""
    return [row[f"c{place}"] for place in range(count)]


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


def summarise(row: dict[str, Any], name: str, changed: list[str]) -> str:
    """One row of the history as a sentence, or an empty text where only a hidden field changed."""
    if row["history_type"] == "+":
        return f"added {name}"
    if row["history_type"] == "-":
        return f"deleted {name}"
    return f"changed {name}: {', '.join(changed)}" if changed else ""
