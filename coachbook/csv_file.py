"""Tables as CSV by RFC 4180, for a spreadsheet and from one: no cell that is written can be taken for a formula."""

import csv
import io
import re
from codecs import BOM_UTF16_BE, BOM_UTF16_LE
from collections.abc import Iterable, Sequence

FORMULA = re.compile(r"'*[=+\-@\t\r\0]")  # ASVS v5.0.0-1.2.10; apostrophes before it are kept apart from ours
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
    csv.writer(file).writerows([safe_cell(cell) for cell in row] for row in rows)
    return file.getvalue().encode("utf-8-sig")


def read_csv(data: bytes, *, most_rows: int) -> list[list[str]]:
    """The cells of a table, the header first, each as a person typed it; an empty line is an empty row.

    Raises CsvProblem for what is no table, or has more rows than `most_rows` below the header.
    """
    text = decode(data)
    rows: list[list[str]] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator_of(text), strict=True)
    try:
        for cells in reader:
            rows.append([plain_cell(cell).strip() for cell in cells])
            if len(rows) > most_rows + 1:
                raise CsvProblem(f"The file has more than {most_rows:,} rows. Divide it into several files.")
    except csv.Error:
        row = len(rows) + 1
        raise CsvProblem(
            f'Row {row} cannot be read: a quotation mark (") is not closed, or a cell goes on behind it. '
            "A quotation mark within a cell is written twice."
        ) from None
    return rows


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
