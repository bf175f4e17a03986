"""The two databases of a copy: the SQLite file of the site, and an empty PostgreSQL database of the same version."""

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager

from django.conf import settings
from django.core.management.base import CommandError
from django.db import OperationalError, connection, connections
from django.db.migrations.recorder import MigrationRecorder
from environ import Env

from coachbook.operations.backups.rows import models_stored, second_connection
from coachbook.operations.health import known_migrations

# `migrate` fills these by itself; the copy puts the rows of the source, with their numbers, in their place.
FILLED_BY_MIGRATE = ("auth_permission", "django_content_type")
NOT_EMPTY = "The database is not empty. Rows are copied into an empty one only: make one with createdb."


@contextmanager
def source_connection() -> Iterator[str]:
    """A connection that reads the site's SQLite file as it is at one moment, while people write."""
    if connection.vendor != "sqlite":
        raise CommandError("The site's database is no SQLite file, so there is nothing to copy from.")
    options = {**connection.settings_dict["OPTIONS"], "transaction_mode": "DEFERRED"}
    with second_connection("source", OPTIONS=options) as alias:
        refuse_unfit(alias, "The site's database")
        yield alias


@contextmanager
def target_connection(url: str) -> Iterator[str]:
    """A connection to the PostgreSQL database; one without any table is migrated first."""
    with second_connection("target", **{"OPTIONS": {}, "CONN_MAX_AGE": 0, **parse(url)}) as alias:
        if not table_names(alias):
            migrate(url)
        refuse_unfit(alias, "The database to copy into")
        if others := other_tables(alias):
            raise CommandError(f"{NOT_EMPTY} It has tables that are none of coachbook's: {', '.join(others)}.")
        yield alias


def parse(url: str) -> dict[str, object]:
    """The settings that an address names. Raises CommandError where it is none of a PostgreSQL database."""
    if not url.startswith(("postgres://", "postgresql://")):
        raise CommandError("Type an address such as postgres:///coachbook.")
    try:
        found: dict[str, object] = dict(Env.db_url_config(url))
    except ValueError as error:  # such as a port that is no number
        raise CommandError(f"This address cannot be read: {error}.") from None
    if not found["NAME"]:
        raise CommandError("The address names no database: postgres:///coachbook does.")
    return found


def table_names(alias: str) -> set[str]:
    """The tables of a database. Raises CommandError where none answers."""
    try:
        return set(connections[alias].introspection.table_names())
    except OperationalError as error:
        raise CommandError(f"No database answers: {str(error).splitlines()[0]}") from None


def migrate(url: str) -> None:
    """Make the tables, in a process of its own: migrations fill the database that the settings name."""
    words = [sys.executable, str(settings.BASE_DIR / "manage.py"), "migrate", "--verbosity=0"]
    done = subprocess.run(words, env={**os.environ, "DATABASE_URL": url}, capture_output=True, text=True)
    if done.returncode:
        raise CommandError(f"The tables could not be made: {done.stderr.strip()}")


def refuse_unfit(alias: str, name: str) -> None:
    """Raise CommandError where a database is not just as this version of the program makes it."""
    stored = set(MigrationRecorder(connections[alias]).applied_migrations())
    if missing := known_migrations() - stored:
        raise CommandError(f"{name} lacks {len(missing)} migrations of this version: bring it up to it first.")
    if unknown := stored - known_migrations():
        raise CommandError(f"{name} is of another version of coachbook: it has {'.'.join(min(unknown))}.")


def other_tables(alias: str) -> list[str]:
    """The tables of a database that are none of coachbook's."""
    return sorted(table_names(alias) - {model._meta.db_table for model in models_stored()} - {"django_migrations"})


def refuse_full(alias: str) -> None:
    """Raise CommandError where the database holds a row that `migrate` did not make."""
    for model in models_stored():
        if model._meta.db_table not in FILLED_BY_MIGRATE and model._base_manager.using(alias).exists():
            raise CommandError(NOT_EMPTY)
