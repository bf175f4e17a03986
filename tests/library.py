"""The library that ships, put into the database of a test as quickly as the database can copy it."""

from django.core.management.color import no_style
from django.db import connection, models
from django.utils import timezone

from drills.load import load_drills
from drills.models import Design, Drill, Fit
from lessons.load import load_catalogue
from lessons.models import Checkpoint, Fault, Skill

ROWS: tuple[type[models.Model], ...] = (Skill, Fault, Checkpoint, Design, Drill, Fit)
MODELS = [model for row in ROWS for model in (row, row.history.model)]  # type: ignore[attr-defined]  # simple-history
TABLES = [model._meta.db_table for model in MODELS]


def keep_library() -> None:
    """Have the loaders store the library once, and keep a copy of every table for the tests of this process."""
    load_both()
    with connection.cursor() as cursor:
        for table in TABLES:
            cursor.execute(f'CREATE TABLE "kept_{table}" AS SELECT * FROM "{table}"')
        for table in reversed(TABLES):
            cursor.execute(f'DELETE FROM "{table}"')


def load_library() -> None:
    """Store the library, as the loaders do; they do it themselves where other rows would be in the way."""
    if any(row._default_manager.exists() for row in ROWS):
        return load_both()
    with connection.cursor() as cursor:
        for table in TABLES:
            cursor.execute(f'INSERT INTO "{table}" SELECT * FROM "kept_{table}"')
        for row in ROWS:  # their history begins now, whatever the clock was when they were kept
            row.history.update(history_date=timezone.now())  # type: ignore[attr-defined]  # simple-history
        if connection.vendor == "postgresql":
            for statement in connection.ops.sequence_reset_sql(no_style(), MODELS):
                cursor.execute(statement)


def load_both() -> None:
    load_catalogue()
    load_drills()
