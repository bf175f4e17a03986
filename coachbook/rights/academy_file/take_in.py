"""Taking the file of an academy into an empty place: all of it or nothing, and proved to be what was saved."""

from collections.abc import Iterator
from itertools import islice
from pathlib import Path
from typing import Any

from django.core.exceptions import ValidationError
from django.db import DEFAULT_DB_ALIAS, DatabaseError, transaction
from django.db.models import Exists, Model, OuterRef

from coachbook.accounts.models import User
from coachbook.operations.backups.databases import continue_numbers
from coachbook.operations.backups.rows import count_rows, rows_of
from coachbook.rights.academy_file.archive import AT_ONCE
from coachbook.rights.academy_file.pictures import pictures_taken_back, take_in_pictures
from coachbook.rights.academy_file.reading import FileProblem, Packed, Row, open_academy, rows_in
from coachbook.rights.academy_file.tables import Table, tables

REFUSED = (DatabaseError, ValueError, OverflowError)


def take_in_academy(path: Path, *, is_edited: bool = False) -> int:
    """Store every row of the file, and its pictures; returns how many there are.

    `is_edited` is whether the tables may be others than were saved. Raises FileProblem, and nothing is stored.
    """
    with open_academy(path) as (packed, contents), pictures_taken_back() as pictures, transaction.atomic():
        refuse_full()
        for table in tables():
            store(table, rows_in(packed, table))
        for table in tables():
            check_pointers(packed, table)
        if not is_edited:
            compare(contents["files"])
        continue_numbers(table.model for table in tables())
        take_in_pictures(packed, pictures)
    return sum(table.model._base_manager.count() for table in tables())


def refuse_full() -> None:
    """Refuse a place in which there is anything already."""
    for table in tables():
        if number := table.model._base_manager.count():
            raise FileProblem(
                f"This place is not empty: it has rows of {table.path} ({number:,}). An academy is taken into an empty "
                "database, before start is run there for the first time."
            )


def store(table: Table, rows: Iterator[Row]) -> None:
    """Store the rows of one table with the numbers that they had; they bring their history along."""
    while part := list(islice(rows, AT_ONCE)):
        try:
            with transaction.atomic():
                table.model._base_manager.bulk_create([instance_of(table, row) for row in part])
        except REFUSED:
            raise first_refused(table, part) from None


def instance_of(table: Table, row: Row) -> Model:
    """A row of the program; nobody has a password until they choose one."""
    values = {column.attribute: value for column, value in zip(table.columns, row.values, strict=True)}
    instance: Model = table.model(**values)
    if isinstance(instance, User):
        instance.set_unusable_password()
    return instance


def first_refused(table: Table, rows: list[Row]) -> FileProblem:
    """Which of these rows the database refuses, and why."""
    for row in rows:
        instance = instance_of(table, row)
        try:
            with transaction.atomic():
                table.model._base_manager.bulk_create([instance])
        except REFUSED as error:
            return FileProblem(f"{table.path}, row {row.number}{reason(instance, error)}")
    return FileProblem(f"{table.path}: the rows {rows[0].number} to {rows[-1].number} cannot be stored.")


def reason(instance: Model, error: Exception) -> str:
    """Why a row is refused: as a form would say it, else in the words of the database."""
    try:
        instance.validate_unique()
        instance.validate_constraints()
    except ValidationError as problem:
        for name, messages in problem.message_dict.items():
            return f"{'' if name == '__all__' else f', column {name}'}: {messages[0]}"
    except REFUSED:
        pass
    return f": the database refuses it: {str(error).splitlines()[0]}"


def check_pointers(packed: Packed, table: Table) -> None:
    """Refuse a row that points to one that is not there; a history may, since rows are deleted."""
    for column in table.columns:
        field = table.model._meta.get_field(column.name)
        if not field.is_relation or not field.db_constraint:
            continue
        there = field.related_model._base_manager.filter(pk=OuterRef(field.attname))
        pointing = table.model._base_manager.exclude(**{field.attname: None})
        if row := pointing.filter(~Exists(there)).order_by("pk").first():
            place = f"{table.path}, row {number_of(packed, table, row.pk)}, column {column.name}"
            raise FileProblem(f"{place}: no row of {column.points_to} has the id {getattr(row, field.attname)}.")


def number_of(packed: Packed, table: Table, key: Any) -> int:
    """In which row of its file a stored row stands."""
    place = [column.attribute for column in table.columns].index(table.model._meta.pk.attname)
    return next(row.number for row in rows_in(packed, table) if row.values[place] == key)


def compare(files: dict[str, dict[str, Any]]) -> None:
    """Refuse rows that are not those that were saved."""
    for table in tables():
        names = [column.attribute for column in table.columns]
        found, said = count_rows(rows_of(table.model, DEFAULT_DB_ALIAS, names)), files.get(table.path, {})
        if found["rows"] != said.get("rows"):
            raise FileProblem(f"{table.path} holds {found['rows']} rows, and {said.get('rows')} were saved.")
        if found != said:
            raise FileProblem(
                f"{table.path} is not as it was saved: a value in it was changed. If you changed it knowingly, add "
                "--edited."
            )
