"""Every row of the site's SQLite file into a PostgreSQL database: all of them, compared, or none."""

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from typing import NamedTuple

from django.core.management.base import CommandError
from django.db import Error, connections, models, transaction

from coachbook.operations.backups.rows import Tables, count_tables, differences, models_stored
from coachbook.operations.growth.places import (
    FILLED_BY_MIGRATE,
    other_tables,
    refuse_full,
    source_connection,
    target_connection,
)

WRITTEN = (
    "Somebody wrote while the rows were copied, so that the copy would lack it. Stop the site and copy again; "
    "--rehearse copies while people write, and keeps nothing."
)


class Copy(NamedTuple):
    """What was copied: the number of rows and the checksum of each table; and the tables of others, left behind."""

    tables: Tables
    left: list[str]


def copy_database(url: str, rehearse: bool) -> Copy:
    """Copy all rows and compare both sides.

    One transaction on either side: where anything is wrong, or for a rehearsal, the target stays as it was. Raises
    CommandError with the reason.
    """
    with source_connection() as source, target_connection(url) as target, ExitStack() as held:
        with transaction.atomic(using=target):
            refuse_full(target)
            with transaction.atomic(using=source):
                expected = count_tables(source)
                version = version_of(source)
                fill(source, target)
                compare(target, expected)
            if rehearse:
                transaction.set_rollback(True, using=target)
            else:
                held.enter_context(no_writers_since(version, source))
        gather_statistics(target)
        return Copy(expected, other_tables(source))


def version_of(source: str) -> int:
    """A number that is another one once somebody else has written (sqlite.org/pragma.html, data_version)."""
    with connections[source].cursor() as cursor:
        version: int = cursor.execute("PRAGMA data_version").fetchone()[0]
    return version


@contextmanager
def no_writers_since(version: int, source: str) -> Iterator[None]:
    """Keep writers away until the copy counts. Raises CommandError where somebody wrote since it was read."""
    with connections[source].cursor() as cursor:
        cursor.execute("BEGIN IMMEDIATE")
        try:
            if version_of(source) != version:
                raise CommandError(WRITTEN)
            yield
        finally:
            cursor.execute("ROLLBACK")


def fill(source: str, target: str) -> None:
    """Copy every table. Which comes first does not matter: PostgreSQL follows the keys at the end."""
    with connections[target].cursor() as cursor:
        for table in FILLED_BY_MIGRATE:
            cursor.execute(f"DELETE FROM {table}")  # nosec B608 # two names of places.py
    for model in models_stored():
        with plain_errors(model._meta.db_table):
            copy_table(model, source, target)
    with plain_errors("a row that points nowhere"), connections[target].cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
    numbers = highest_numbers(source)
    for model in models_stored():
        continue_numbers(model, target, numbers.get(model._meta.db_table, 0))


@contextmanager
def plain_errors(what: str) -> Iterator[None]:
    """Say in one line what PostgreSQL refused, be it a value, a full disk or a lost connection."""
    try:
        yield
    except Error as error:
        raise CommandError(f"Nothing was copied. PostgreSQL refused {what}: {str(error).splitlines()[0]}") from error


def copy_table(model: type[models.Model], source: str, target: str) -> None:
    """Copy the rows of one table as Django reads them, so that nothing is set anew, such as a time of change."""
    fields = [field for field in model._meta.concrete_fields if not field.generated]
    rows = model._base_manager.using(source).order_by().values_list(*(field.attname for field in fields))
    connection = connections[target]
    quote = connection.ops.quote_name
    columns = ", ".join(quote(str(field.column)) for field in fields)
    statement = f"COPY {quote(model._meta.db_table)} ({columns}) FROM STDIN"
    with connection.wrap_database_errors, connection.cursor() as cursor, cursor.copy(statement) as copied:
        for row in rows.iterator(chunk_size=2000):
            copied.write_row(
                [field.get_db_prep_save(value, connection) for field, value in zip(fields, row, strict=True)]
            )


def highest_numbers(source: str) -> dict[str, int]:
    """The highest number that a row of each table ever had (sqlite.org/autoinc.html)."""
    with connections[source].cursor() as cursor:
        return dict(cursor.execute("SELECT name, seq FROM sqlite_sequence").fetchall())


def continue_numbers(model: type[models.Model], target: str, highest: int) -> None:
    """Number new rows behind every row that there ever was: the history of a deleted one is no other row's.

    Not by setval, which would outlast a transaction that is taken back (postgresql.org, functions-sequence).
    """
    key = model._meta.pk
    if not isinstance(key, models.AutoField):
        return
    stored = model._base_manager.using(target).aggregate(highest=models.Max("pk"))["highest"] or 0
    quote = connections[target].ops.quote_name
    with connections[target].cursor() as cursor:
        table, column, number = quote(model._meta.db_table), quote(str(key.column)), max(stored, highest) + 1
        cursor.execute(f"ALTER TABLE {table} ALTER COLUMN {column} RESTART WITH {number:d}")


def compare(target: str, expected: Tables) -> None:
    """Raise CommandError where a table of the copy is not what was read."""
    if different := differences(count_tables(target), expected):
        raise CommandError(f"Nothing was copied: these tables came out different: {', '.join(different)}.")


def gather_statistics(target: str) -> None:
    """Let PostgreSQL look at what it holds now, so that its first answers are quick."""
    with connections[target].cursor() as cursor:
        cursor.execute("ANALYZE")
