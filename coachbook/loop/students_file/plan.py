"""What would become of each row of a file with students: new, here already, or to be put right."""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import validate_email

from coachbook.accounts.models import Area, Coach, Side, Student, StudentQuerySet, User
from coachbook.loop.students.forms import HIDDEN_NAMESAKE, AgeForm, check_phone_owner, normalize_name
from coachbook.loop.students_file.columns import Line, Problem, read_header, read_lines

SIDES = [f"{area}_side" for area in Area.values]
BY_HAND = "Add this student on the page New student, where you can say that this is another person."
ONE_ACCOUNT = "An address belongs to one person. For a child without an own address, leave it empty."


class RowForm(AgeForm):
    """One row as a student's details."""

    class Meta:
        model = Student
        fields = ["name", *SIDES, *AgeForm.Meta.fields, "phone", "phone_of"]

    def __init__(self, *args: Any, adult_at: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.adult_at = adult_at
        # Each constraint would be asked of the database, row by row; it refuses them again when they are stored.
        student: Any = self.instance
        student.validate_constraints = lambda exclude=None: None

    def clean(self) -> dict[str, Any]:
        """Whose number it is stands beside that of a junior."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        check_phone_owner(self, data, self.today, self.adult_at)
        return data


@dataclass
class Row:
    """A row that can be read: the student as stored, the account if there is an address, the coach."""

    line: Line
    student: Student
    email: str = ""
    coach: Coach | None = None
    is_here: bool = False
    has_namesake: bool = False

    @property
    def username(self) -> str:
        """The user name that is made of the address."""
        return re.sub(r"[^\w.@+-]", "", self.email)[:150]


@dataclass
class Plan:
    """All rows of a file, and everything that is wrong with it: while there is anything, nothing is stored."""

    rows: list[Row] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)

    @property
    def new(self) -> list[Row]:
        """The rows that would be added."""
        return [row for row in self.rows if not row.is_here]

    @property
    def here(self) -> list[Row]:
        """The rows of students who are here already: nothing of them is changed."""
        return [row for row in self.rows if row.is_here]


@dataclass(frozen=True)
class Reader:
    """Who takes students in: a coach for themselves, a manager for any coach."""

    user: User
    visible: StudentQuerySet
    today: date
    adult_at: int


def make_plan(table: list[list[str]], reader: Reader) -> Plan:
    """Read the table; the database is asked a constant number of times."""
    names, problems = read_header(table[0] if table else [])
    if problems:
        return Plan(problems=problems)
    lines = read_lines(table, names)
    if not lines:
        return Plan(problems=[Problem(2, "", "There is no student below the first row.")])
    rows = [read_row(line, reader) for line in lines]
    set_coaches(rows, reader)
    find_students_here(rows, reader)
    find_doubles(rows)
    check_addresses(rows)
    return Plan(rows, [problem for row in rows for problem in row.line.problems])


def read_row(line: Line, reader: Reader) -> Row:
    """The student in a row, not saved; what is wrong stands on the line."""
    cells, default = line.cells, line.cells.get("plays_from") or Side.RIGHT
    sides = {side: (cells.get(side) or default).casefold() for side in SIDES}
    for name in ("plays_from", *SIDES):
        if cells.get(name) and cells[name].casefold() not in Side.values:
            line.report(name, "Type left or right.")
    sides = {name: side if side in Side.values else Side.RIGHT.value for name, side in sides.items()}
    values = {**cells, **sides, "age_group": cells.get("age_group", "").casefold()}
    form = RowForm(values, today=reader.today, adult_at=reader.adult_at)
    for name, errors in form.errors.items():
        line.report(name, " ".join(map(str, errors)))
    email = cells.get("email", "")
    try:
        validate_email(email or "nobody@example.org")
        forms.CharField(max_length=254, required=False).clean(email)
    except ValidationError:
        line.report("email", "This is no e-mail address.")
        email = ""
    return Row(line, form.instance, email)


def set_coaches(rows: list[Row], reader: Reader) -> None:
    """Find each row's coach; who is no manager takes students in for themselves."""
    coaches = list(Coach.objects.named().teaching())
    for row in rows:
        sought = row.line.cells.get("coach", "")
        found = [coach for coach in coaches if sought and is_meant(sought, coach)]
        if not reader.user.is_manager or (not sought and reader.user.is_coach):
            row.coach = reader.user.coach
            if sought and row.coach not in found:
                row.line.report("coach", "Students whom you add are yours. Leave this empty.")
        elif len(found) == 1:
            row.coach = found[0]
        elif not sought:
            row.line.report("coach", "Every new student needs a coach.")
        else:
            few = "No coach here has this name." if not found else "Several coaches have this name: type the user name."
            row.line.report("coach", few)


def is_meant(sought: str, coach: Coach) -> bool:
    """Whether a cell names a coach."""
    user = coach.user
    return normalize_name(sought) in {normalize_name(name) for name in (user.name, user.username, user.email) if name}


def find_students_here(rows: list[Row], reader: Reader) -> None:
    """Mark whoever is here already: the same name, and no other year of birth.

    A student out of the reader's reach stays unknown to them: as on the page of one student, only the name is said.
    """
    here: dict[str, list[Student]] = {}
    visible = set(reader.visible.values_list("pk", flat=True))
    for student in Student.objects.present().only("pk", "name", "birth_year").order_by("pk"):
        here.setdefault(normalize_name(student.name), []).append(student)
    for row in rows:
        namesakes = here.get(normalize_name(row.student.name), [])
        seen = [student for student in namesakes if student.pk in visible]
        row.is_here = any(is_same(student, row.student) for student in seen)
        row.has_namesake = bool(namesakes)
        if not row.is_here and len(seen) < len(namesakes):
            row.line.report("name", f"{HIDDEN_NAMESAKE} {BY_HAND}")


def is_same(one: Student, other: Student) -> bool:
    """Whether two of one name may be one person: no year of birth tells them apart."""
    return None in (one.birth_year, other.birth_year) or one.birth_year == other.birth_year


def find_doubles(rows: Iterable[Row]) -> None:
    """Report the second of two rows that are one person."""
    earlier: dict[str, list[Row]] = {}
    for row in rows:
        same = earlier.setdefault(normalize_name(row.student.name), [])
        first = next((each for each in same if row.student.name and is_same(each.student, row.student)), None)
        if first:
            row.line.report("name", f"This is the same person as in row {first.line.number}: leave one of them out.")
        same.append(row)


def check_addresses(rows: list[Row]) -> None:
    """Report addresses that somebody else has, here or in an earlier row."""
    taken = {name.casefold() for names in User.objects.values_list("email", "username") for name in names if name}
    first: dict[str, int] = {}
    for row in rows:
        if not row.email or row.is_here:
            continue
        wanted = {row.email.casefold(), row.username.casefold()}
        double = next((first[name] for name in wanted if name in first), None)
        if double:
            row.line.report("email", f"Row {double} has this address, too. {ONE_ACCOUNT}")
        elif wanted & taken:
            row.line.report("email", f"Another account has this address. {ONE_ACCOUNT}")
        first |= dict.fromkeys(wanted, row.line.number)
