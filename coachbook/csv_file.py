"""Tables as CSV by RFC 4180, for a spreadsheet and from one: no cell that is written can be taken for a formula."""

import csv
import io
import re
from codecs import BOM_UTF16_BE, BOM_UTF16_LE
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from typing import TextIO

Cell = str | int | float | Decimal
# What a spreadsheet may compute: ASVS v5.0.0-1.2.10, with a new line and the wide forms that OWASP's page on CSV
# injection adds, also behind quotation marks, blanks and NUL. Apostrophes before it are kept apart from ours.
FORMULA = re.compile(r"""['"\s\0]*[=+\-@＝＋－＠]|['"]*[\t\r\n\0]""")
LONGEST_CELL, LONGEST_LINE = 10_000_000, 40_000_000  # letters
csv.field_size_limit(LONGEST_CELL)
BINARY = re.compile(r"[\0-\x08\x0b\x0c\x0e-\x1f\x7f]")
SEPARATORS = (",", ";", "\t")
NO_TEXT = "This is no CSV file. In the spreadsheet choose Save as, then CSV, and choose that file here."


class CsvProblem(Exception):
    """A file that cannot be read as a table; the message is for whoever chose it."""


def safe_cell(text: str) -> str:
    """The text with an apostrophe before what a spreadsheet would compute."""
    return f"'{text}" if FORMULA.match(text) else text


def plain_cell(text: str) -> str:
    """What stood in a cell before `safe_cell`."""
    return text[1:] if text.startswith("'") and FORMULA.match(text) else text


def write_csv(rows: Iterable[Sequence[str]]) -> bytes:
    """The rows with the byte order mark by which spreadsheets know UTF-8."""
    file = io.StringIO(newline="")
    write_rows(file, rows)
    return file.getvalue().encode("utf-8-sig")


def write_rows(file: TextIO, rows: Iterable[Sequence[Cell]]) -> None:
    """Write the rows into a file that leaves the ends of lines alone; a number stays one, below zero as well."""
    csv.writer(file).writerows([safe_cell(cell) if isinstance(cell, str) else cell for cell in row] for row in rows)


def read_csv(data: bytes, *, most_rows: int) -> list[list[str]]:
    """The cells of a table, the header first, each as a person typed it; an empty line is an empty row.

    Raises CsvProblem for what is no table, or has more rows than `most_rows` below the header.
    """
    text = decode(data)
    rows: list[list[str]] = []
    for cells in read_rows(io.StringIO(text, newline=""), separator_of(text)):
        rows.append([cell.strip() for cell in cells])
        if len(rows) > most_rows + 1:
            raise CsvProblem(f"The file has more than {most_rows:,} rows. Divide it into several files.")
    return rows


def read_rows(file: TextIO, separator: str = ",") -> Iterator[list[str]]:
    """The cells of each row, the header first. Raises CsvProblem with the row that cannot be read."""
    row = 1
    try:
        for cells in csv.reader(lines_of(file), delimiter=separator, strict=True):
            yield [plain_cell(cell) for cell in cells]
            row += 1
    except csv.Error:
        raise CsvProblem(
            f'Row {row} cannot be read: a quotation mark (") is not closed, or a cell goes on behind it. '
            "A quotation mark within a cell is written twice."
        ) from None


def lines_of(file: TextIO) -> Iterator[str]:
    """The lines of a file; one that never ends is given up before it fills the memory."""
    while line := file.readline(LONGEST_LINE):
        if len(line) == LONGEST_LINE:
            raise CsvProblem(f"A line is longer than {LONGEST_LINE:,} letters.")
        yield line


def decode(data: bytes) -> str:
    """The text of a file in UTF-8, UTF-16 or, as older spreadsheets save it, Windows-1252."""
    wide = data.startswith((BOM_UTF16_LE, BOM_UTF16_BE))
    for encoding in ("utf-16",) if wide else ("utf-8-sig", "cp1252"):
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if BINARY.search(text):
            break
        return text
    raise CsvProblem(NO_TEXT)


def separator_of(text: str) -> str:
    """What stands most often in the header between cells: a comma, a semicolon or a tab."""
    header = re.sub(r'"[^"]*"', "", text.lstrip("\r\n").split("\n", 1)[0])
    return max(SEPARATORS, key=header.count)
