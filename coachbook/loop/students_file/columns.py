"""The columns of a file with students: what the header may name, and what stands in a cell."""

import re
from dataclasses import dataclass, field
from typing import NamedTuple

LARGEST = 1_000_000  # bytes of a file
MOST_ROWS = 2_000


class Column(NamedTuple):
    """One column: its heading, and what its cells hold."""

    heading: str
    holds: str


COLUMNS: dict[str, Column] = {
    "name": Column("Name", "First and last name. The only column that every file needs."),
    "birth_year": Column("Year of birth", "Four digits. May be empty."),
    "age_group": Column("Child or adult", "child or adult. Needed only without a year of birth; may be empty."),
    "plays_from": Column("Plays from", "left or right, for the whole short game. Empty: right."),
    "putting_side": Column("Putts from", "left or right, where it differs."),
    "chipping_side": Column("Chips from", "left or right, where it differs."),
    "pitching_side": Column("Pitches from", "left or right, where it differs."),
    "bunker_side": Column("Plays bunkers from", "left or right, where it differs."),
    "phone": Column("Telephone", "5 to 15 digits. May be empty."),
    "phone_of": Column("Whose number", "Such as: mother. Needed beside the number of a junior."),
    "email": Column("E-mail", "An address of their own, to sign in with. Nobody is sent a mail. May be empty."),
    "coach": Column("Coach", "The main coach, by name, user name or e-mail."),
}


@dataclass(frozen=True)
class Problem:
    """What is wrong: in which row of the file, in which column, and how it can be put right."""

    row: int
    column: str
    words: str

    def __str__(self) -> str:
        column = f", {self.column}" if self.column else ""
        return f"Row {self.row}{column}: {self.words}"


@dataclass
class Line:
    """The cells of one row by column, with the number that a spreadsheet shows beside it."""

    number: int
    cells: dict[str, str]
    problems: list[Problem] = field(default_factory=list)

    def report(self, column: str, words: str) -> None:
        """Add what is wrong with a cell."""
        heading = COLUMNS[column].heading if column in COLUMNS else ""
        self.problems.append(Problem(self.number, heading, words))


def letters(heading: str) -> str:
    """A heading without what people type in different ways."""
    return re.sub(r"[\W_]", "", heading.casefold())


BY_LETTERS = {letters(column.heading): name for name, column in COLUMNS.items()}


def read_header(headings: list[str]) -> tuple[list[str], list[Problem]]:
    """The column of each heading, and what is wrong with the header."""
    names = [BY_LETTERS.get(letters(heading), "") for heading in headings]
    known = ", ".join(column.heading for column in COLUMNS.values())
    problems = [
        Problem(1, "", f"There is no column “{heading[:60]}”. The columns are: {known}.")
        for heading, name in zip(headings, names, strict=True)
        if heading and not name
    ]
    twice = [name for name in COLUMNS if names.count(name) > 1]
    problems += [Problem(1, COLUMNS[name].heading, "This column is there twice.") for name in twice]
    if "name" not in names:
        problems.append(Problem(1, COLUMNS["name"].heading, "This column is missing. The first row names the columns."))
    return names, problems


def read_lines(table: list[list[str]], names: list[str]) -> list[Line]:
    """The rows below the header that hold anything."""
    lines = []
    for number, cells in enumerate(table[1:], start=2):
        if not any(cells):
            continue
        line = Line(number, {name: cell for name, cell in zip(names, cells, strict=False) if name})
        if any(cells[len(names) :]):
            line.report("", "There are more cells than columns. Is there a comma or semicolon too many?")
        lines.append(line)
    return lines
