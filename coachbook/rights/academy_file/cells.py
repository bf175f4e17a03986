"""What a value of each kind looks like in a cell, and which value stands in a cell. Pure."""

import json
import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from decimal import Decimal
from typing import Any
from uuid import UUID

from coachbook.csv_file import Cell

WHOLE = re.compile(r"-?\d{1,19}", re.ASCII)
NUMBER = re.compile(r"-?\d+(\.\d+)?([eE][+-]?\d+)?", re.ASCII)


@dataclass(frozen=True)
class Kind:
    """One kind of column; `read` raises ValueError for a cell that holds no such value."""

    name: str
    says: str  # what a cell of it looks like, for whoever reads the file
    write: Callable[[Any], Cell]
    read: Callable[[str], Any]


def read_whole(cell: str) -> int:
    """A whole number."""
    if not WHOLE.fullmatch(cell):
        raise ValueError
    return int(cell)


def read_decimal(cell: str) -> Decimal:
    """A number with the digits that stand there."""
    if not NUMBER.fullmatch(cell):
        raise ValueError
    return Decimal(cell)


def read_float(cell: str) -> float:
    """A number that is neither endless nor none."""
    if not NUMBER.fullmatch(cell) or not math.isfinite(float(cell)):
        raise ValueError
    return float(cell)


def write_moment(value: datetime) -> str:
    """A moment in UTC."""
    return value.astimezone(UTC).isoformat().replace("+00:00", "Z")


def read_moment(cell: str) -> datetime:
    """A moment, which says its zone."""
    value = datetime.fromisoformat(cell)
    if value.tzinfo is None:
        raise ValueError
    return value.astimezone(UTC)


def write_document(value: Any) -> str:
    """A document as JSON, legible; half a character, which UTF-8 cannot hold, as its number."""
    return json.dumps(value, ensure_ascii=False).encode("utf-8", "backslashreplace").decode()


TEXT = Kind("words", "as they were typed", str, str)
WHOLE_NUMBER = Kind("whole number", "such as 12", int, read_whole)
DECIMAL = Kind("decimal", "such as 34.50", Decimal, read_decimal)
FLOAT = Kind("number", "such as 1.5 or 2e-05", float, read_float)
YES_NO = Kind("yes or no", "yes or no", {True: "yes", False: "no"}.__getitem__, {"yes": True, "no": False}.__getitem__)
DAY = Kind("day", "such as 2026-06-30", date.isoformat, date.fromisoformat)
TIME = Kind("time", "such as 17:30:00", time.isoformat, time.fromisoformat)
MOMENT = Kind("moment", "in UTC, such as 2026-06-30T17:30:00Z", write_moment, read_moment)
KEY = Kind("key", "32 random hexadecimal digits with hyphens, which stand in addresses", str, UUID)
DOCUMENT = Kind("document", "JSON (RFC 8259)", write_document, json.loads)
KINDS = (TEXT, WHOLE_NUMBER, DECIMAL, FLOAT, YES_NO, DAY, TIME, MOMENT, KEY, DOCUMENT)


class CellProblem(ValueError):
    """A cell that does not hold what its column needs; the message says which."""


@dataclass(frozen=True)
class Column:
    """One column of a table."""

    name: str  # in the header
    attribute: str  # of a row in the program
    kind: Kind
    is_optional: bool = False  # whether there may be nothing
    longest: int | None = None  # letters
    limits: tuple[int, int] | None = None
    points_to: str = ""  # the file of the rows of which one is meant

    def cell(self, value: Any) -> Cell:
        """The cell of a value; nothing is an empty one."""
        if value is None and self.is_optional:
            return ""
        written = self.kind.write(value)
        return f"'{written}" if self.is_quoted(written) else written

    def value(self, cell: str) -> Any:
        """The value in a cell. Raises CellProblem."""
        if not cell and self.is_optional:
            return None
        try:
            value = self.kind.read(cell[1:] if self.is_quoted(cell) else cell)
        except (ValueError, KeyError, RecursionError, ArithmeticError):
            raise CellProblem(f"“{shortened(cell)}” is no {self.kind.name} ({self.kind.says}).") from None
        self.check(value)
        return value

    def is_quoted(self, text: Cell) -> bool:
        """Whether words here begin with an apostrophe that tells them from nothing."""
        return self.is_optional and self.kind is TEXT and set(str(text)) <= {"'"}

    def check(self, value: Any) -> None:
        """Refuse what the column of a database may cut off or has no room for."""
        if self.longest and isinstance(value, str) and len(value) > self.longest:
            raise CellProblem(f"{len(value):,} letters; {self.longest:,} at most.")
        if self.limits and not self.limits[0] <= value <= self.limits[1]:
            raise CellProblem(f"{value} does not lie between {self.limits[0]} and {self.limits[1]}.")


def shortened(text: str) -> str:
    """A cell as a message quotes it."""
    return text if len(text) <= 40 else f"{text[:39]}…"
