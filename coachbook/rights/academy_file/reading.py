"""Reading the file of an academy: nothing is unpacked onto a disk, and nothing believed unchecked."""

import json
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from coachbook.csv_file import CsvProblem, read_rows
from coachbook.operations.health import known_migrations
from coachbook.rights.academy_file.archive import CONTENTS, FORMAT, FORMAT_VERSION, README, text_file
from coachbook.rights.academy_file.cells import CellProblem
from coachbook.rights.academy_file.pictures import is_picture
from coachbook.rights.academy_file.tables import Table, tables

LARGEST = 20 * 2**30  # bytes of all files; they are read row by row
LARGEST_CONTENTS = 2**20
MOST_PACKED = 200  # times smaller than unpacked; tables are packed to a twentieth or so
SMALL = 2**24  # bytes that may be packed in any way
DAMAGED = (zipfile.BadZipFile, EOFError, NotImplementedError, RuntimeError, zlib.error, UnicodeDecodeError)


Packed = zipfile.ZipFile


class FileProblem(Exception):
    """A file that cannot be taken in; the message says where and why."""


@dataclass(frozen=True)
class Row:
    """One row of a file."""

    number: int  # as a spreadsheet counts: the header is row 1
    values: tuple[Any, ...]


@contextmanager
def open_academy(path: Path) -> Iterator[tuple[Packed, dict[str, Any]]]:
    """The ZIP and its contents.json, once both are what this version can take in. Raises FileProblem."""
    try:
        with zipfile.ZipFile(path) as packed:
            check_sizes(packed)
            contents = read_contents(packed)
            check_version(contents)
            check_names(packed.namelist())
            yield packed, contents
    except OSError as error:
        raise FileProblem(f"{path} cannot be read: {error.strerror or error}.") from None
    except DAMAGED as error:
        raise FileProblem(f"This is no whole ZIP file: {error}. Save or copy it once more.") from None


def check_sizes(packed: Packed) -> None:
    """Refuse what would be far larger unpacked; no more than the sizes that the ZIP names is ever read of it."""
    infos = packed.infolist()
    unpacked, stored = sum(info.file_size for info in infos), sum(info.compress_size for info in infos)
    if unpacked > LARGEST or unpacked > max(SMALL, MOST_PACKED * stored):
        raise FileProblem(f"This ZIP would be {unpacked:,} bytes large if it were unpacked: it is none of an academy.")


def read_contents(packed: Packed) -> dict[str, Any]:
    """What the ZIP says of itself. Raises FileProblem where it holds no academy."""
    if CONTENTS not in packed.namelist() or packed.getinfo(CONTENTS).file_size > LARGEST_CONTENTS:
        raise FileProblem(f"This ZIP holds no academy: there is no {CONTENTS} in it that can be read.")
    try:
        contents = json.loads(packed.read(CONTENTS))
    except (ValueError, RecursionError):
        raise FileProblem(f"{CONTENTS} cannot be read.") from None
    if not isinstance(contents, dict) or contents.get("format") != FORMAT:
        raise FileProblem(f"This ZIP holds no academy: {CONTENTS} does not say “{FORMAT}”.")
    return contents


def check_version(contents: dict[str, Any]) -> None:
    """Refuse what another version wrote: its tables have other columns."""
    try:
        migrations = {(app, name) for app, name in contents["migrations"]}
        files, program = dict(contents["files"]), str(contents["program"])
        is_newer = int(contents["format_version"]) > FORMAT_VERSION or bool(migrations - known_migrations())
    except (KeyError, TypeError, ValueError):
        raise FileProblem(f"{CONTENTS} is not as it was saved.") from None
    if is_newer:
        raise FileProblem(f"This file was made by a newer version of coachbook, {program}: install that one first.")
    if known_migrations() - migrations or not all(isinstance(said, dict) for said in files.values()):
        raise FileProblem(
            f"This file was made by an earlier version of coachbook, {program}: take it in with that one, then upgrade."
        )


def check_names(names: list[str]) -> None:
    """Refuse a ZIP that lacks a file, holds one twice, or holds anything but the files of an academy."""
    expected = {CONTENTS, *(table.path for table in tables())}
    for name in names:
        if name not in expected | {README} and not is_picture(name):
            raise FileProblem(f"{shown(name)} is no file of an academy. Take it out of the ZIP.")
    if len(set(names)) < len(names):
        twice = next(name for name in names if names.count(name) > 1)
        raise FileProblem(f"{twice} stands twice in the ZIP.")
    if missing := sorted(expected - set(names)):
        raise FileProblem(f"{missing[0]} is missing in the ZIP.")


def shown(name: str) -> str:
    """A name that may be anything, as a message quotes it."""
    return ascii(name[:80])


def rows_in(packed: Packed, table: Table) -> Iterator[Row]:
    """The rows of a table. Raises FileProblem with the row and the column that cannot be read."""
    try:
        with packed.open(table.path) as raw, text_file(raw) as file:
            rows = read_rows(file)
            check_header(table, next(rows, []))
            for number, cells in enumerate(rows, 2):
                yield Row(number, values_of(table, number, cells))
    except CsvProblem as problem:
        raise FileProblem(f"{table.path}: {problem}") from None
    except UnicodeDecodeError:
        raise FileProblem(f"{table.path} is no text in UTF-8. Save it as CSV in UTF-8.") from None


def check_header(table: Table, names: list[str]) -> None:
    """Refuse other columns than those of the table, in another order as well."""
    expected = [column.name for column in table.columns]
    if names == expected:
        return
    for name in names:
        if name not in expected:
            raise FileProblem(f"{table.path}, row 1: {shown(name)} is no column of it.")
    for name in expected:
        if names.count(name) != 1:
            how = "is missing" if name not in names else "stands there twice"
            raise FileProblem(f"{table.path}, row 1: the column {name} {how}.")
    raise FileProblem(f"{table.path}, row 1: the columns must stand in this order: {', '.join(expected)}.")


def values_of(table: Table, number: int, cells: list[str]) -> tuple[Any, ...]:
    """The values of a row."""
    if len(cells) != len(table.columns):
        raise FileProblem(f"{table.path}, row {number}: {len(cells)} cells in place of {len(table.columns)}.")
    values = []
    for column, cell in zip(table.columns, cells, strict=True):
        try:
            values.append(column.value(cell))
        except CellProblem as problem:
            raise FileProblem(f"{table.path}, row {number}, column {column.name}: {problem}") from None
    return tuple(values)
