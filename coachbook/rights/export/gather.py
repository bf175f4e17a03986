"""The rows of a student's file as one person may read them, in a query for each kind."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import Q
from django.utils import timezone

from coachbook.accounts.models import Academy, Area, Student
from coachbook.rights.export.kinds import KINDS, READER, Kind
from lessons.models import Lesson, Still
from lessons.stills.rows import shown_stills
from lessons.wording import render_typed


@dataclass(frozen=True)
class Table:
    """The rows of one kind: headings, and a value for each."""

    kind: Kind
    headings: list[str]
    rows: list[list[Any]]


def gather(student: Student, *, family: bool) -> list[Table]:
    """Every kind that has rows; `family` is whether the student or a guardian reads them, else a manager does."""
    return [table for kind in KINDS if (table := table_of(kind, student, family=family)).rows]


def pictures_of(student: Student, academy: Academy, on: date, *, family: bool) -> dict[str, Still]:
    """The stills whose files go along, by their names in it: the family's all, a manager's those that may be shown."""
    shown = Still.objects.shown().filter(lesson__student=student, lesson__status=Lesson.Status.COMPLETE)
    rows = shown if family else shown_stills(student, academy, on)
    return {f"pictures/{row.key}.jpg": row for row in rows}


def table_of(kind: Kind, student: Student, *, family: bool) -> Table:
    """The rows of one kind."""
    columns = kind.columns_for(family=family)
    rows = list(values_of(kind, student, family=family))
    return Table(
        kind, list(columns.values()), [[value_of(kind, row, name, student) for name in columns] for row in rows]
    )


def values_of(kind: Kind, student: Student, *, family: bool) -> Iterator[dict[str, Any]]:
    """The rows as stored; words that are not for the family are empty in their file."""
    if family and kind.for_family is None:
        return
    narrowed = kind.for_family if family and kind.for_family else Q()
    lookups = dict.fromkeys([*kind.columns, *kind.readers.values(), *filter(None, [kind.area])])
    owned = kind.model._base_manager.filter(narrowed, **{kind.path: student.pk})
    for row in owned.order_by(kind.order, "pk").values(*lookups):
        hidden = [words for words, reader in kind.readers.items() if family and row[reader] != READER]
        yield row | dict.fromkeys(hidden, "")


def value_of(kind: Kind, row: dict[str, Any], name: str, student: Student) -> Any:
    """One value: words as a player of the student's side reads them, moments at the academy's time."""
    value = row[name]
    if isinstance(value, str):
        return render_typed(value, student.side(row.get(kind.area) or Area.PUTTING))
    return timezone.localtime(value) if isinstance(value, datetime) else value


def in_words(value: Any) -> str:
    """A value as a cell shows it: days as 2026-06-30, the time behind them."""
    if isinstance(value, datetime):
        return f"{value:%Y-%m-%d %H:%M}"
    if value is None or value == "":
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dict | list):
        return "; ".join(words_in(value))
    return value.isoformat() if isinstance(value, date) else str(value)


def words_in(value: Any) -> Iterator[str]:
    """The texts within a document, such as a sheet, in their order."""
    if isinstance(value, dict | list):
        for part in value.values() if isinstance(value, dict) else value:
            yield from words_in(part)
    elif value not in (None, ""):
        yield str(value)
