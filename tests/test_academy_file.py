"""The whole academy as a file: out and in again without loss, no formula in it, and no bad file taken in by half."""

import csv
import io
import json
import re
import zipfile
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.core.management import CommandError, call_command
from django.db import connection, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from hypothesis import given, settings
from hypothesis import strategies as st

from coachbook.accounts.models import RecordView, Student, User
from coachbook.csv_file import LONGEST_CELL, read_rows, write_rows
from coachbook.operations.backups.rows import count_tables
from coachbook.rights.academy_file import cells
from coachbook.rights.academy_file.archive import save_academy
from coachbook.rights.academy_file.cells import CellProblem, Column
from coachbook.rights.academy_file.reading import FileProblem
from coachbook.rights.academy_file.tables import COLUMNS_LEFT_OUT, LEFT_OUT, tables
from coachbook.rights.academy_file.take_in import take_in_academy
from coachbook.rights.models import AcademyFile
from lessons.models import Lesson
from tests.conftest import Cast
from tests.make import academy_today, make_design, make_drill, make_fault, make_lesson, make_skill
from tests.whole_record import make_whole_record, plant

Clients = Callable[[str], Client]
FORMULAS = "=+-@＝＋－＠"
many = settings(max_examples=300, deadline=None)

# --- Cells, pure --------------------------------------------------------------------------------

awkward = st.text(st.sampled_from("'\"=+-@\t\r\n\0 ,;é＝\u2028\ufeff1"), max_size=8)
texts = st.one_of(awkward, st.text(st.characters(codec="utf-8")))
documents = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(texts, inner, max_size=3),
    max_leaves=5,
)
VALUES = {
    cells.TEXT: texts,
    cells.WHOLE_NUMBER: st.integers(-(2**63), 2**63 - 1),
    cells.DECIMAL: st.decimals(allow_nan=False, allow_infinity=False, places=2),
    cells.FLOAT: st.floats(allow_nan=False, allow_infinity=False),
    cells.YES_NO: st.booleans(),
    cells.DAY: st.dates(),
    cells.TIME: st.times(),
    cells.MOMENT: st.datetimes(timezones=st.just(UTC)),
    cells.KEY: st.uuids(),
    cells.DOCUMENT: documents,
}
COLUMNS = [Column(kind.name, kind.name, kind, is_optional) for kind in VALUES for is_optional in (False, True)]
ROWS = st.tuples(
    *(st.none() | VALUES[column.kind] if column.is_optional else VALUES[column.kind] for column in COLUMNS)
)


def through_a_file(rows: list[list[Any]]) -> tuple[list[list[str]], list[list[str]]]:
    """The rows as they are read again, and as any program reads them that knows RFC 4180."""
    file = io.StringIO(newline="")
    write_rows(file, rows)
    read = [list(read_rows(io.StringIO(file.getvalue(), newline="")))]
    return read[0], list(csv.reader(io.StringIO(file.getvalue(), newline="")))


@many
@given(st.lists(ROWS, min_size=1, max_size=3))
def test_every_value_of_every_kind_comes_back_and_no_words_begin_a_formula(rows: list[tuple[Any, ...]]) -> None:
    """Nothing is not empty words; a negative number stays a number, and words that look like one stay words."""
    written = [[column.cell(value) for column, value in zip(COLUMNS, row, strict=True)] for row in rows]
    read, seen = through_a_file(written)
    values = [tuple(column.value(cell) for column, cell in zip(COLUMNS, row, strict=True)) for row in read]
    assert [list(map(repr, row)) for row in values] == [list(map(repr, row)) for row in rows]
    for row in seen:
        for column, cell in zip(COLUMNS, row, strict=True):
            is_number = column.kind in (cells.WHOLE_NUMBER, cells.DECIMAL, cells.FLOAT)
            assert is_number or not cell.lstrip("\"\n\r\t\0 \u2028").startswith(tuple(FORMULAS)), cell
            assert not cell.startswith(("\t", "\r", "\n", "\0"))


def test_formulas_are_made_safe_as_owasp_asks() -> None:
    """OWASP's page on CSV injection: = + - @, their wide forms, a tab, CR and LF; ASVS 5.0.0, 1.2.10: NUL as well."""
    words = [f"{first}{start}1" for first in ("", '"', "'", "\n", ' "\t') for start in FORMULAS]
    words += [f"{start}words" for start in "\t\r\n\0"]
    read, seen = through_a_file([[word, "1-1", "a=b", "'quoted'"] for word in words])
    assert [row[0] for row in seen] == [f"'{word}" for word in words]
    assert read == [[word, "1-1", "a=b", "'quoted'"] for word in words]
    assert through_a_file([[-3, -2.5, Decimal("-1.50")]])[1] == [["-3", "-2.5", "-1.50"]]


def test_a_cell_may_be_longer_than_the_limit_of_the_standard_library() -> None:
    long = "é" * 200_000
    assert through_a_file([[long, "x"]])[0] == [[long, "x"]] and LONGEST_CELL > 10 * len(long)


@pytest.mark.parametrize(
    ("kind", "cell"),
    [
        (cells.WHOLE_NUMBER, "1.5"), (cells.WHOLE_NUMBER, "١"), (cells.WHOLE_NUMBER, "9" * 20), (cells.WHOLE_NUMBER, ""),
        (cells.DECIMAL, "1,5"), (cells.FLOAT, "nan"), (cells.FLOAT, "1e999"), (cells.FLOAT, "1_0"), (cells.YES_NO, "TRUE"),
        (cells.DAY, "30.06.2026"), (cells.DAY, "2026-02-30"), (cells.MOMENT, "2026-06-30T10:00:00"), (cells.KEY, "12"),
        (cells.DOCUMENT, "{'a': 1}"), (cells.DOCUMENT, "[" * 100_000), (cells.DOCUMENT, ""),
    ],
)  # fmt: skip
def test_a_cell_that_holds_no_such_value_is_refused_with_an_example(kind: cells.Kind, cell: str) -> None:
    with pytest.raises(CellProblem, match=re.escape(f"is no {kind.name} ({kind.says})")):
        Column("x", "x", kind).value(cell)


def test_what_a_database_would_cut_off_is_refused() -> None:
    with pytest.raises(CellProblem, match="4 letters; 3 at most"):
        Column("x", "x", cells.TEXT, longest=3).value("four")
    with pytest.raises(CellProblem, match="40000 does not lie between 0 and 32767"):
        Column("x", "x", cells.WHOLE_NUMBER, limits=(0, 32767)).value("40000")
