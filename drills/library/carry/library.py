"""The stored library, read at once, and the document that a part of it makes."""

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import Prefetch, QuerySet

from coachbook.accounts.models import Coach
from drills.library.carry.kinds import KINDS, written
from drills.library.carry.reading import FORMAT, UNITS, VERSION
from drills.models import Fit
from lessons.shipped import ShippedRow

Codes = dict[str, set[str]]  # by the kind of rows


@dataclass(frozen=True)
class Library:
    """Every stored row by kind and code, and for whom it is read: a coach, or the academy for None."""

    rows: Mapping[str, dict[str, Any]]
    coach: Coach | None

    @classmethod
    def read(cls, coach: Coach | None) -> "Library":
        """All rows, in a query for each kind and one for the fits."""
        return cls({plural: {row.code: row for row in rows_of(plural)} for plural in KINDS}, coach)

    def find(self, plural: str, code: str) -> Any:
        """The row with this code that the reader may see, or None."""
        row = self.rows[plural].get(code)
        return row if row is not None and self.shows(row) else None

    def shows(self, row: ShippedRow) -> bool:
        """Whether the reader may see a row: the academy's, or their own."""
        return row.owner_id is None or self.is_own(row)

    def is_own(self, row: ShippedRow) -> bool:
        """Whether the reader may change a row: a coach their own, the academy those without an owner."""
        return row.owner_id == (self.coach.pk if self.coach else None)

    def written(self, plural: str, row: Any) -> dict[str, Any]:
        """A row as it stands in a file, without the codes of rows that the reader may not see."""
        return with_links(plural, written(plural, row), lambda target, code: self.find(target, code) is not None)


def rows_of(plural: str) -> Iterable[Any]:
    """The stored rows of a kind with all that they are written with."""
    rows: QuerySet[Any] = KINDS[plural].model._default_manager.select_related("merged_into")
    if plural == "faults":
        rows = rows.select_related("skill")
    if plural == "drills":
        rows = rows.prefetch_related(Prefetch("fits", Fit.objects.select_related("fault")))
    return rows


def area_of(plural: str, row: Any) -> str:
    """The area of a stored row."""
    return str(row.skill.area if plural == "faults" else row.area)


# --- Out ----------------------------------------------------------------------------------------


def document(library: Library, academy: str, areas: Collection[str] = (), drills: Collection[str] = ()) -> Any:
    """The document of the areas and drills chosen, with what belongs to each; of everything where none is."""
    codes = chosen(library, areas, drills) if areas or drills else all_codes(library)
    sections = {
        plural: [
            with_links(plural, library.written(plural, row), lambda target, code: code in codes[target])
            for row in in_order(library, plural, codes[plural])
        ]
        for plural in KINDS
    }
    return {"format": FORMAT, "version": VERSION, "units": UNITS, "academy": academy, **sections}


def all_codes(library: Library) -> Codes:
    """The codes of all rows that the reader may see."""
    return {plural: {code for code in rows if library.find(plural, code)} for plural, rows in library.rows.items()}


def chosen(library: Library, areas: Collection[str], drills: Collection[str]) -> Codes:
    """The codes of the rows of some areas, and of some drills with their faults and skills."""
    seen = all_codes(library)
    found = {
        plural: {code for code in codes if area_of(plural, library.rows[plural][code]) in areas}
        for plural, codes in seen.items()
    }
    found["drills"] |= seen["drills"] & set(drills)
    for plural in ("drills", "faults", "skills", "designs"):
        add_linked(library, plural, found)
    return {plural: codes & seen[plural] for plural, codes in found.items()}


def add_linked(library: Library, plural: str, found: Codes) -> None:
    """Add the rows to which the rows of a kind lead, those into which they were merged as well."""
    waiting = list(found[plural])
    while waiting:
        row = library.rows[plural][waiting.pop()]
        if row.merged_into and row.merged_into.code not in found[plural]:
            found[plural].add(row.merged_into.code)
            waiting.append(row.merged_into.code)
        if plural == "drills":
            found["faults"] |= {fit.fault.code for fit in row.fits.all()}
        if plural == "faults":
            found["skills"].add(row.skill.code)


def in_order(library: Library, plural: str, codes: Collection[str]) -> list[Any]:
    """The rows with these codes, by area and position."""
    rows = [library.rows[plural][code] for code in codes]
    return sorted(rows, key=lambda row: (area_of(plural, row), row.position, row.code))


def with_links(plural: str, row: dict[str, Any], is_there: Callable[[str, str], bool]) -> dict[str, Any]:
    """A row with the codes alone of rows that are there; a skill always is."""
    for name, target in KINDS[plural].links.items():
        if isinstance(row[name], list):
            row[name] = [code for code in row[name] if is_there(target, code)]
        elif name == "merged_into" and not is_there(target, row[name]):
            row[name] = ""
    return row
