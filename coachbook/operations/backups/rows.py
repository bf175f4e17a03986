"""What is stored, as numbers that two databases can be compared by, whatever kind they are."""

import hashlib
import json
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.apps import apps
from django.db import connections, models

MODULUS = 2**256
Tables = dict[str, dict[str, Any]]


def models_stored() -> list[type[models.Model]]:
    """Every model with a table of its own, those behind a relation of many to many among them."""
    found = [model for model in apps.get_models(include_auto_created=True) if model._meta.managed]
    return sorted((model for model in found if not model._meta.proxy), key=lambda model: model._meta.db_table)


def count_tables(alias: str) -> Tables:
    """For each table how many rows there are, and a checksum over the values of all of them."""
    return {model._meta.db_table: count_table(model, alias) for model in models_stored()}


def count_table(model: type[models.Model], alias: str) -> dict[str, Any]:
    """The number of rows and their checksum: a sum, so that their order, which databases differ in, does not matter."""
    names = [field.attname for field in model._meta.concrete_fields]
    number = total = 0
    for row in model._base_manager.using(alias).order_by().values_list(*names).iterator(chunk_size=2000):
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
