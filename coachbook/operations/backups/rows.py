"""What is stored, as numbers that two databases can be compared by, whatever kind they are."""

import hashlib
import json
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from django.apps import apps
from django.apps.registry import Apps
from django.db import connections, models
from django.db.migrations.loader import MigrationLoader

MODULUS = 2**256
Tables = dict[str, dict[str, Any]]


def models_stored(registry: Apps = apps) -> list[type[models.Model]]:
    """Every model with a table of its own, those behind a relation of many to many among them."""
    found = [model for model in registry.get_models(include_auto_created=True) if model._meta.managed]
    return sorted((model for model in found if not model._meta.proxy), key=lambda model: model._meta.db_table)


def models_as_migrated(alias: str) -> Apps:
    """The models as the migrations of a database leave them: those of an earlier version have other columns."""
    loader = MigrationLoader(connections[alias])
    return loader.project_state([node for node in loader.applied_migrations if node in loader.graph.nodes]).apps


def count_tables(alias: str, registry: Apps = apps) -> Tables:
    """For each table how many rows there are, and a checksum over the values of all of them."""
    return {model._meta.db_table: count_table(model, alias) for model in models_stored(registry)}


def count_table(model: type[models.Model], alias: str) -> dict[str, Any]:
    """The number of rows of a table and their checksum."""
    return count_rows(rows_of(model, alias, sorted(field.attname for field in model._meta.concrete_fields)))


def rows_of(model: type[models.Model], alias: str, names: Sequence[str], *order: str) -> Iterator[tuple[Any, ...]]:
    """Some columns of every row, in any order unless one is named."""
    return model._base_manager.using(alias).order_by(*order).values_list(*names).iterator(chunk_size=2000)


def count_rows(rows: Iterable[tuple[Any, ...]]) -> dict[str, Any]:
    """How many there are, and their checksum: a sum, since databases differ in the order in which they give them."""
    number = total = 0
    for row in rows:
        number += 1
        total += int.from_bytes(hashlib.sha256(as_text(row).encode()).digest(), "big")
    return {"rows": number, "sha256": f"{total % MODULUS:064x}"}


def as_text(row: tuple[Any, ...]) -> str:
    """A row as text: the same for values that Django reads as the same."""
    return json.dumps(row, sort_keys=True, default=lambda value: value.hex() if is_binary(value) else str(value))


def is_binary(value: Any) -> bool:
    """Whether a value is bytes, as one driver or the other gives them."""
    return isinstance(value, bytes | memoryview)


def differences(stored: Tables, expected: Tables) -> list[str]:
    """The tables that hold other rows than expected."""
    return sorted(name for name in stored.keys() | expected.keys() if stored.get(name) != expected.get(name))


@contextmanager
def second_connection(alias: str = "second", **changed: Any) -> Iterator[str]:
    """The alias of a connection beside the first one, with some of its settings changed."""
    connections.settings[alias] = {**connections["default"].settings_dict, **changed}
    try:
        yield alias
    finally:
        connections[alias].close()
        del connections[alias], connections.settings[alias]
