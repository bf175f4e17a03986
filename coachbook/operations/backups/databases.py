"""A copy of the database while people write into it, and the way back into an empty one."""

import os
import shutil
import sqlite3
import subprocess
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager, nullcontext
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError
from django.core.management.color import no_style
from django.db import DEFAULT_DB_ALIAS, connection, connections, transaction
from django.db.backends.postgresql.client import DatabaseClient
from django.db.migrations.recorder import MigrationRecorder
from django.db.models import Model
from psycopg import IsolationLevel

from coachbook.backends.sqlite3.base import DatabaseWrapper
from coachbook.operations.backups.rows import count_tables, second_connection

FILES = {"sqlite": "database.sqlite3", "postgresql": "database.dump"}


def copy_database(folder: Path) -> dict[str, Any]:
    """Write the database of one moment into a folder; returns what stands in it, for the manifest."""
    copy = {"sqlite": copy_sqlite, "postgresql": copy_postgresql}[connection.vendor]
    return {"database": connection.vendor, **copy(folder / FILES[connection.vendor])}


def copy_sqlite(path: Path) -> dict[str, Any]:
    """By the online backup API, in one step: it reads one state, and writers go on (sqlite.org/backup.html)."""
    source = f"file:{connection.settings_dict['NAME']}?mode=rw"
    with closing(sqlite3.connect(source, uri=True, timeout=20)) as stored, closing(sqlite3.connect(path)) as copied:
        stored.backup(copied)
        copied.execute("PRAGMA journal_mode=DELETE")  # one file, and none beside it
    with second_connection(NAME=str(path), OPTIONS={}) as alias:
        return contents(alias)


def copy_postgresql(path: Path) -> dict[str, Any]:
    """By pg_dump, in the snapshot of a transaction of ours, which counts the same rows."""
    options = {**connection.settings_dict["OPTIONS"], "isolation_level": IsolationLevel.REPEATABLE_READ}
    with second_connection(OPTIONS=options) as alias, transaction.atomic(using=alias):
        with connections[alias].cursor() as cursor:
            cursor.execute("SELECT pg_export_snapshot()")
            [snapshot] = cursor.fetchone()
        run_tool("pg_dump", "--format=custom", f"--snapshot={snapshot}", f"--file={path}")
        return contents(alias)


@contextmanager
def one_moment() -> Iterator[None]:
    """Read the database as it is at this moment, while others go on writing; nothing may be written within."""
    database = connections[DEFAULT_DB_ALIAS]
    is_first = not database.in_atomic_block
    reader = database.as_reader() if isinstance(database, DatabaseWrapper) else nullcontext()
    with reader, transaction.atomic():
        if is_first and database.vendor == "postgresql":
            with database.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        yield


def continue_numbers(models: Iterable[type[Model]]) -> None:
    """Let new rows be numbered behind those that were stored with their numbers; SQLite does so by itself."""
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), list(models)):
            cursor.execute(statement)


def contents(alias: str) -> dict[str, Any]:
    """What stands in a database: its migrations, and the numbers of its tables."""
    migrations = sorted(MigrationRecorder(connections[alias]).applied_migrations())
    return {"migrations": [list(migration) for migration in migrations], "tables": count_tables(alias)}


def is_empty() -> bool:
    """Whether the database has no table yet."""
    return not connection.introspection.table_names()


def check_database(folder: Path, vendor: str) -> None:
    """Raise CommandError where the copy of a database is damaged inside."""
    path = folder / FILES[vendor]
    if vendor == "postgresql":
        run_program("pg_restore", ["--list", str(path)])
        return
    with closing(sqlite3.connect(f"file:{path}?mode=ro&immutable=1", uri=True)) as copied:
        found = copied.execute("PRAGMA integrity_check").fetchone()
    if found != ("ok",):
        raise CommandError(f"{path} is damaged: {found[0]}")


def restore_database(folder: Path) -> None:
    """Put the copy into the empty database: all of it or nothing."""
    path = folder / FILES[connection.vendor]
    if connection.vendor == "postgresql":
        run_tool("pg_restore", "--no-owner", "--no-privileges", "--single-transaction", "--exit-on-error", str(path))
        return
    connection.close()
    place = Path(connection.settings_dict["NAME"])
    unfinished = place.with_name(f"{place.name}.unfinished")
    try:
        shutil.copyfile(path, unfinished)
        unfinished.chmod(0o600)
        os.sync()
        for beside in ("-wal", "-shm"):  # of the empty database that was there
            place.with_name(place.name + beside).unlink(missing_ok=True)
        unfinished.replace(place)
    finally:
        unfinished.unlink(missing_ok=True)


def run_tool(name: str, *words: str) -> None:
    """Run a program of PostgreSQL's on our database; its password stands in no list of processes."""
    args, environment = DatabaseClient.settings_to_cmd_args_env(connection.settings_dict, [])
    run_program(name, [*args[1:-1], f"--dbname={args[-1]}", *words], environment or {})


def run_program(name: str, words: list[str], environment: dict[str, str] | None = None) -> None:
    """Run a program. Raises CommandError with what it says where it fails or is missing."""
    try:
        done = subprocess.run([name, *words], env={**os.environ, **(environment or {})}, capture_output=True, text=True)
    except FileNotFoundError:
        raise CommandError(f"{name} is missing: apt-get install postgresql-client") from None
    if done.returncode:
        raise CommandError(f"{name}: {done.stderr.strip()}")
