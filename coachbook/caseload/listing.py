"""One list of students: which of them are shown, in which order, and the links that ask for another."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple
from urllib.parse import urlencode

from coachbook.caseload.counts import StudentInCare


class ListedStudent(NamedTuple):
    """A student in care, once, with the names of their main coaches."""

    student: StudentInCare
    coaches: tuple[str, ...]

    @property
    def coach_names(self) -> str:
        """The main coaches in one line."""
        return ", ".join(self.coaches)


class Filter(NamedTuple):
    """Some of the students: what the choice is called, and who is among them."""

    label: str
    holds: Callable[[StudentInCare, int], bool]


class Column(NamedTuple):
    """What a list can be sorted by; a key of None comes last, in either direction."""

    label: str
    key: Callable[[ListedStudent], Any]


class Choice(NamedTuple):
    """A link to the same list with other students, or in another order."""

    label: str
    query: str
    is_chosen: bool
    number: int | None = None


FILTERS = {
    "all": Filter("All", lambda one, days: True),
    "overdue": Filter("With a review overdue", lambda one, days: bool(one.overdue)),
    "unseen": Filter("Not seen for {days} days", lambda one, days: one.is_unseen(days)),
    "unbooked": Filter("Nothing booked", lambda one, days: one.next is None and not one.paused),
    "absent": Filter("Reported absent", lambda one, days: bool(one.absences)),
    "paused": Filter("Paused", lambda one, days: one.paused),
}
COLUMNS = {
    "name": Column("Name", lambda row: row.student.name.casefold()),
    "coach": Column("Coach", lambda row: row.coach_names.casefold()),
    "last": Column("Last lesson", lambda row: row.student.last),
    "next": Column("Next lesson", lambda row: row.student.next),
    "practice": Column("Practice", lambda row: row.student.practice_share),
    "review": Column("Review", lambda row: next(iter(row.student.overdue), row.student.due)),
}


@dataclass(frozen=True)
class Listing:
    """What one page or file shows; `days` without a lesson make a student count as not seen.

    `asked` are the parameters of the address that another choice keeps: the coach, and the days where they were typed.
    """

    students: list[ListedStudent]
    show: str
    sort: str
    days: int
    asked: Mapping[str, str]
    problem: str = ""

    @property
    def column(self) -> str:
        """The column it is sorted by."""
        return self.sort.removeprefix("-")

    @property
    def direction(self) -> str:
        """The direction, as `aria-sort` says it."""
        return "descending" if self.sort.startswith("-") else "ascending"

    @property
    def rows(self) -> list[ListedStudent]:
        """The students to show, in their order; those of whom there is nothing to sort by come last, by name."""
        found = sorted(
            (row for row in self.students if FILTERS[self.show].holds(row.student, self.days)),
            key=COLUMNS["name"].key,
        )
        key = COLUMNS[self.column].key
        known = [row for row in found if key(row) is not None]
        ordered = sorted(known, key=key, reverse=self.direction == "descending")
        return ordered + [row for row in found if key(row) is None]

    @property
    def words(self) -> str:
        """Which students these are and in which order, for the page on paper, which has no links."""
        chosen = next(each for each in self.filters if each.is_chosen)
        return f"{chosen.label}: {chosen.number}. By {COLUMNS[self.column].label.lower()}, {self.direction}."

    @property
    def query(self) -> str:
        """The address of this very list, for the file of it."""
        return self.query_for()

    @property
    def filters(self) -> list[Choice]:
        """Which students can be shown, and how many they are."""
        return [
            Choice(
                each.label.replace("{days}", str(self.days)),
                self.query_for(show=name),
                name == self.show,
                sum(each.holds(row.student, self.days) for row in self.students),
            )
            for name, each in FILTERS.items()
        ]

    @property
    def columns(self) -> list[Choice]:
        """What the list can be sorted by; the one that is chosen leads to the other direction."""
        return [
            Choice(each.label, self.query_for(sort=self.next_sort(name)), name == self.column)
            for name, each in COLUMNS.items()
        ]

    def next_sort(self, column: str) -> str:
        """What a tap on a column asks for."""
        return f"-{column}" if self.sort == column else column

    def query_for(self, **changed: str) -> str:
        """The address of this list with something changed; what goes without saying is left out."""
        usual = {"show": "all", "sort": "name"}
        values = {**self.asked, "show": self.show, "sort": self.sort, **changed}
        return urlencode({name: value for name, value in values.items() if value not in ("", usual.get(name))})


def listing_of(
    students: Iterable[ListedStudent], asked: Mapping[str, str], days: int, kept: Mapping[str, str]
) -> Listing:
    """The list that an address asks for; what it asks for in vain is said, and all by name are shown instead."""
    show, sort, problem = asked.get("show", "all"), asked.get("sort") or "name", ""
    if sort.removeprefix("-") not in COLUMNS:
        problem = f"“{sort[:20]}” is no column of this list. Sorted by name."
        sort = "name"
    return Listing(list(students), show if show in FILTERS else "all", sort, days, kept, problem)


def listed(by_coach: Iterable[tuple[str, Iterable[StudentInCare]]]) -> list[ListedStudent]:
    """Each student of some coaches (name and students) once, even where two coaches share them."""
    names: dict[int, list[str]] = {}
    rows: dict[int, StudentInCare] = {}
    for name, students in by_coach:
        for one in students:
            rows.setdefault(one.student, one)
            names.setdefault(one.student, []).append(name)
    return [ListedStudent(one, tuple(names[pk])) for pk, one in rows.items()]
