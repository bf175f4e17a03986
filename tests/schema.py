"""The tables of a database as it describes them itself; `python -m tests.schema` prints those after all migrations."""

import json
import sys
from collections import Counter
from typing import Any

from django.db import connection

Table = dict[str, Any]
KINDS = ("primary_key", "unique", "foreign_key", "check", "index")
OF_DJANGO = "django_migrations"  # made by the migrations only


def read_schema() -> dict[str, Table]:
    """Of every table its columns, and what it has of each kind of constraint and index, whatever they are called."""
    with connection.cursor() as cursor:
        names = connection.introspection.table_names(cursor)
        return {name: read_table(cursor, name) for name in sorted(names) if name != OF_DJANGO}


def read_table(cursor: Any, name: str) -> Table:
    columns = connection.introspection.get_table_description(cursor, name)
    constraints = connection.introspection.get_constraints(cursor, name).values()
    return {
        "columns": sorted([column.name, str(column.type_code), column.null_ok] for column in columns),
        "constraints": sorted(f"{number} {what}" for what, number in Counter(map(in_words, constraints)).items()),
    }


def in_words(constraint: dict[str, Any]) -> str:
    """A constraint without its name, which tells how it came about."""
    kinds = [f"{kind} {constraint[kind]}" for kind in KINDS if constraint[kind]]
    return f"{', '.join(kinds)} of {', '.join(str(name) for name in constraint['columns'] or ['?'])}"


if __name__ == "__main__":
    import django
    from django.core.management import call_command

    django.setup()
    call_command("migrate", verbosity=0)
    json.dump(read_schema(), sys.stdout)
