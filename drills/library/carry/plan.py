"""What taking in a document would do: each row is new, changed, the same, kept or refused. Nothing is written."""

import hashlib
from collections import Counter
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, NamedTuple

from drills.library.carry.kinds import KINDS, NOT_COMPARED, check_fields
from drills.library.carry.library import Library, area_of
from drills.library.carry.reading import shortened
from drills.library.carry.shown import shown
from lessons.wording import render_typed


class State(StrEnum):
    """What becomes of a row."""

    NEW = "new"
    CHANGED = "changed"
    SAME = "the same"
    KEPT = "kept as the academy has it"
    REFUSED = "refused"


class Difference(NamedTuple):
    """One key that says something else here than in the file."""

    key: str
    here: str
    in_file: str


@dataclass
class PlannedRow:
    """A row of the file. `values` speaks of other rows by the codes that they have here."""

    plural: str
    number: int
    values: dict[str, Any]
    name: str
    code: str = ""  # the one that it has here
    stored: Any = None
    state: State = State.REFUSED
    differences: list[Difference] = field(default_factory=list)
    problems: list[tuple[str, str]] = field(default_factory=list)  # a key and what is wrong with it
    is_namesake: bool = False  # another row here has the same name

    @property
    def key(self) -> str:
        """By what a person ticks it."""
        return f"{self.plural}:{self.code}"

    @property
    def kind(self) -> str:
        """What kind of row it is, in words."""
        return KINDS[self.plural].name

    @property
    def messages(self) -> list[str]:
        """What is wrong with it, each with the place: drill 12 “Ladder”, steps: …"""
        row = f"{self.kind} {self.number}{f' “{self.name}”' if self.name else ''}"
        return [f"{row}{f', {key}' if key else ''}: {message}" for key, message in self.problems]


@dataclass(frozen=True)
class Plan:
    """All rows of a document, and what becomes of each."""

    rows: list[PlannedRow]
    library: Library

    @property
    def problems(self) -> list[str]:
        """Everything that is wrong."""
        return [message for row in self.rows for message in row.messages]

    @property
    def counts(self) -> dict[str, int]:
        """How many rows of each state, in words; states without rows are left out."""
        found = Counter(row.state for row in self.rows)
        return {state.value: found[state] for state in State if found[state]}

    def in_state(self, state: State) -> list[PlannedRow]:
        """The rows of one state."""
        return [row for row in self.rows if row.state == state]

    @property
    def fingerprint(self) -> str:
        """A hash of what a person decides on: it changes where the library here was changed meanwhile."""
        seen = [(row.key, row.state.value, row.differences) for row in self.rows]
        return hashlib.sha256(repr(seen).encode()).hexdigest()


def make_plan(document: Mapping[str, Any], library: Library) -> Plan:
    """What would become of each row of a document."""
    rows = [row for plural in KINDS for row in checked_rows(plural, document.get(plural, []))]
    codes = local_codes(rows, library)
    for row in rows:
        use_local_codes(row, codes)
    known = {(row.plural, row.code): row for row in rows if row.code}
    for row in rows:
        row.problems += link_problems(row, known, library)
    for row in rows:
        row.problems += merge_problems(row, known, library)
    for row in rows:
        set_state(row, known, library)
    return Plan(rows, library)


# --- Rows of the file ---------------------------------------------------------------------------


def checked_rows(plural: str, rows: list[Any]) -> Iterator[PlannedRow]:
    """Each row with its values, as far as they can be read, and what is wrong with it."""
    for number, row in enumerate(rows, start=1):
        problems: list[tuple[str, str]] = []
        values = check_fields(KINDS[plural].fields, row, problems)
        if not problems:
            problems += KINDS[plural].checks_together(values)
        name = render_typed(values["name"]) if "name" in values else named_badly(row)
        yield PlannedRow(plural, number, values, name, problems=problems)


def named_badly(row: Any) -> str:
    """How a row without a name that can be stored is called in messages."""
    found = (row.get("name") or row.get("code") or "") if isinstance(row, dict) else ""
    return shortened(found) if isinstance(found, str) else ""


# --- Codes --------------------------------------------------------------------------------------


def local_codes(rows: list[PlannedRow], library: Library) -> dict[tuple[str, str], str]:
    """The code that each row of the file has here; one that stands in the file twice is a problem of the second."""
    found: dict[tuple[str, str], str] = {}
    taken: set[tuple[str, str]] = set()
    for row in rows:
        written_code = row.values.get("code")
        if not written_code:
            continue
        code = local_code(row, library)
        if (row.plural, code) in taken:
            row.problems.append(("code", f"{shortened(written_code)} stands in the file twice."))
            continue
        taken.add((row.plural, code))
        found[row.plural, written_code] = row.code = code
    return found


def local_code(row: PlannedRow, library: Library) -> str:
    """The row's own code, or one made of it where that belongs to somebody else, or may one day be shipped.

    The same file makes the same code each time, so that a second taking in makes no doubles.
    """
    code: str = row.values["code"]
    stored, is_coach, is_made_here = library.rows[row.plural].get(code), library.coach, code.startswith("own-")
    if stored is None:
        return code if is_made_here or not is_coach else other_code(code, library)
    if library.is_own(stored) or (stored.owner_id is None and not is_made_here):
        return code
    is_same = stored.owner_id is None and not differences_of(row, library)
    return code if is_same else other_code(code, library)


def other_code(code: str, library: Library) -> str:
    """A code for a row whose own code is not free."""
    whose = f"by-{library.coach.pk}" if library.coach else "academy"
    return f"own-{code.removeprefix('own-')[:40]}-{whose}"


def use_local_codes(row: PlannedRow, codes: Mapping[tuple[str, str], str]) -> None:
    """Let a row speak of others by the codes that they have here."""
    for name, target in KINDS[row.plural].links.items():
        value = row.values.get(name)
        if isinstance(value, list):
            row.values[name] = sorted(codes.get((target, code), code) for code in value)
        elif value:
            row.values[name] = codes.get((target, value), value)


# --- Links --------------------------------------------------------------------------------------

RowsInFile = Mapping[tuple[str, str], PlannedRow]


def area_here(plural: str, code: str, known: RowsInFile, library: Library) -> str | None:
    """The area of a row here or else in the file; None where there is no such row, or its area cannot be read."""
    if stored := library.find(plural, code):
        return area_of(plural, stored)
    row = known.get((plural, code))
    return area_in_file(row, known, library) if row else None


def area_in_file(row: PlannedRow, known: RowsInFile, library: Library) -> str | None:
    """The area that a row of the file says it has; None where that cannot be read."""
    if row.plural == "faults":
        return area_here("skills", row.values.get("skill", ""), known, library)
    return row.values.get("area")


def link_problems(row: PlannedRow, known: RowsInFile, library: Library) -> Iterator[tuple[str, str]]:
    """Codes of rows that are nowhere, or that belong to another area."""
    own_area = area_in_file(row, known, library)
    for name, target in KINDS[row.plural].links.items():
        value = row.values.get(name) or []
        for code in value if isinstance(value, list) else [value]:
            if (target, code) not in known and library.find(target, code) is None:
                yield name, f"{code} is neither in the file nor in this library."
            elif own_area and area_here(target, code, known, library) not in (own_area, None):
                yield name, f"{code} belongs to another area than {own_area}."


def merge_problems(row: PlannedRow, known: RowsInFile, library: Library) -> Iterator[tuple[str, str]]:
    """A merge into itself or into a row that was merged itself, and one of a row that is still offered."""
    into = row.values.get("merged_into")
    if not into:
        return
    if not row.values.get("archived", True):
        yield "archived", "A row that was merged into another is archived."
    if into == row.code:
        yield "merged_into", "It would be merged into itself."
    elif merged_into(row.plural, into, known, library):
        yield "merged_into", f"{into} was merged itself. Name the row that it was merged into."


def merged_into(plural: str, code: str, known: RowsInFile, library: Library) -> str:
    """Into which row one is merged, by the file where it is in it."""
    if row := known.get((plural, code)):
        return str(row.values.get("merged_into") or "")
    stored = library.find(plural, code)
    return stored.merged_into.code if stored and stored.merged_into else ""


# --- States -------------------------------------------------------------------------------------


def set_state(row: PlannedRow, known: RowsInFile, library: Library) -> None:
    """Compare a row with what is stored under its code."""
    row.stored = library.rows[row.plural].get(row.code)
    if row.problems:
        return
    if row.stored is None:
        row.state, row.is_namesake = State.NEW, has_namesake(row, library)
        return
    row.differences = differences_of(row, library)
    if not row.differences:
        row.state = State.SAME
    elif not library.is_own(row.stored):
        row.state = State.KEPT
    elif area_in_file(row, known, library) != (area := area_of(row.plural, row.stored)):
        key = "skill" if row.plural == "faults" else "area"
        row.problems.append((key, f"It belongs to {area} here, and a row stays in its area."))
    else:
        row.state = State.CHANGED


def differences_of(row: PlannedRow, library: Library) -> list[Difference]:
    """What a row of the file says otherwise than the one that has its code here."""
    here = library.written(row.plural, library.rows[row.plural][row.code or row.values["code"]])
    names = [name for name in here if name not in ("code", *NOT_COMPARED) and name in row.values]
    return [
        Difference(name.replace("_", " "), shown(here[name]), shown(row.values[name]))
        for name in names
        if here[name] != row.values[name]
    ]


def has_namesake(row: PlannedRow, library: Library) -> bool:
    """Whether a row that is offered here has the same name, in the same area."""
    area = row.values.get("area")
    others: Collection[Any] = [each for each in library.rows[row.plural].values() if library.shows(each)]
    return any(
        str(each).casefold() == row.name.casefold() and not each.archived and getattr(each, "area", area) == area
        for each in others
    )
