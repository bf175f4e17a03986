"""Writing the file of an academy: the tables, what they hold in words, and checksums."""

import io
import json
import zipfile
from collections.abc import Iterator
from datetime import datetime
from itertools import islice
from typing import IO, Any

from django.db import DEFAULT_DB_ALIAS
from django.template.loader import render_to_string

from coachbook import VERSION
from coachbook.accounts.models import Academy
from coachbook.csv_file import Cell, write_rows
from coachbook.operations.backups.databases import one_moment
from coachbook.operations.backups.rows import count_rows, rows_of
from coachbook.operations.health import stored_migrations
from coachbook.rights.academy_file.cells import KINDS
from coachbook.rights.academy_file.pictures import write_pictures
from coachbook.rights.academy_file.tables import COLUMNS_LEFT_OUT, LEFT_OUT, Table, tables

README, CONTENTS = "README.txt", "contents.json"
FORMAT, FORMAT_VERSION = "coachbook academy", 1
AT_ONCE = 500  # rows


def save_academy(file: IO[bytes], at: datetime, *, with_pictures: bool = True) -> dict[str, Any]:
    """Write the academy of this moment, while people write; returns what stands in its contents.json."""
    with one_moment(), zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as packed:
        contents = {
            "format": FORMAT,
            "format_version": FORMAT_VERSION,
            "program": VERSION,
            "academy": Academy.current().name,
            "made_at": at.isoformat(),
            "migrations": sorted(map(list, stored_migrations())),
            "files": {table.path: write_table(packed, table) for table in tables()},
        }
        packed.writestr(CONTENTS, json.dumps(contents, ensure_ascii=False, indent=1))
        packed.writestr(README, readme(contents, at, with_pictures=with_pictures))
        if with_pictures:
            write_pictures(packed)
    return contents


def write_table(packed: zipfile.ZipFile, table: Table) -> dict[str, Any]:
    """Write one table; returns how many rows it has, and their checksum."""
    names = [column.attribute for column in table.columns]
    with packed.open(table.path, "w", force_zip64=True) as raw, text_file(raw) as file:
        write_rows(file, [[column.name for column in table.columns]])
        return count_rows(written(file, table, rows_of(table.model, DEFAULT_DB_ALIAS, names, "pk")))


def text_file(raw: IO[bytes]) -> io.TextIOWrapper:
    """A file within the ZIP as text, with the byte order mark by which spreadsheets know UTF-8."""
    return io.TextIOWrapper(raw, "utf-8-sig", newline="")


def written(file: io.TextIOWrapper, table: Table, rows: Iterator[tuple[Any, ...]]) -> Iterator[tuple[Any, ...]]:
    """The rows, each once it is written."""
    while part := list(islice(rows, AT_ONCE)):
        write_rows(file, [cells_of(table, row) for row in part])
        yield from part


def cells_of(table: Table, row: tuple[Any, ...]) -> list[Cell]:
    """A row as it is written."""
    return [column.cell(value) for column, value in zip(table.columns, row, strict=True)]


def readme(contents: dict[str, Any], at: datetime, *, with_pictures: bool) -> str:
    """What stands in the file, for a person."""
    left_out = {label.split(".")[1]: why for label, why in LEFT_OUT.items()}
    left_out |= {f"{label.split('.')[1]}, {column}": why for (label, column), why in COLUMNS_LEFT_OUT.items()}
    context = {
        "contents": contents,
        "at": at,
        "with_pictures": with_pictures,
        "kinds": KINDS,
        "tables": [(table, contents["files"][table.path]["rows"]) for table in tables()],
        "left_out": sorted(left_out.items()),
    }
    return render_to_string("rights/academy_file/readme.txt", context)
