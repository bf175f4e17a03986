"""Short names: what a phone keeps of a person's name."""

from collections.abc import Iterable

from coachbook.accounts.models import Student


def short_name(name: str) -> str:
    """The first name and the initial of the last: "Beatrix M."."""
    first, *others = name.split() or [name]
    return f"{first} {others[-1][0]}." if others else first


def short_names(students: Iterable[Student]) -> dict[int, str]:
    """A short name for each student, by their id."""
    return {student.pk: short_name(student.name) for student in students}
