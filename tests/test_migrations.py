"""The tests make their tables from the models: here all migrations run, and make the same ones."""

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.apps import apps
from django.db import connection

from tests.schema import Table, read_schema
from tests.test_models import OURS

NAME = "test_of_all_migrations"
ROOT = Path(__file__).parent.parent


@pytest.fixture
def empty_database(tmp_path: Path) -> Iterator[dict[str, str]]:
    """Settings in the environment that lead to an empty database of the same make."""
    here = {**os.environ, "DATA_DIR": str(tmp_path), "DJANGO_SETTINGS_MODULE": "coachbook.settings"}
    if connection.vendor == "sqlite":
        yield {name: value for name, value in here.items() if name != "DATABASE_URL"}
        return
    asked = f"{NAME}_{os.environ.get('PYTEST_XDIST_WORKER', 'one')}"
    with connection._nodb_cursor() as cursor:  # type: ignore[attr-defined]
        cursor.execute(f"DROP DATABASE IF EXISTS {asked}")
        cursor.execute(f"CREATE DATABASE {asked}")
    url, _, _ = os.environ["DATABASE_URL"].rpartition("/")
    yield here | {"DATABASE_URL": f"{url}/{asked}"}
    with connection._nodb_cursor() as cursor:  # type: ignore[attr-defined]
        cursor.execute(f"DROP DATABASE {asked}")


@pytest.mark.both_databases
def test_the_migrations_make_the_tables_of_the_models(db: None, empty_database: dict[str, str]) -> None:
    command = [sys.executable, "-m", "tests.schema"]
    done = subprocess.run(command, env=empty_database, cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    migrated, made = ours(json.loads(done.stdout)), ours(json.loads(json.dumps(read_schema())))
    assert len(made) > 60
    assert migrated.keys() == made.keys()
    assert {name: (migrated[name], made[name]) for name in made if migrated[name] != made[name]} == {}


def ours(tables: dict[str, Table]) -> dict[str, Table]:
    """The tables of the project's own apps."""
    configs = [config for config in apps.get_app_configs() if config.name.startswith(OURS)]
    models = [model for config in configs for model in config.get_models(include_auto_created=True)]
    names = {model._meta.db_table for model in models}
    return {name: table for name, table in tables.items() if name in names}
