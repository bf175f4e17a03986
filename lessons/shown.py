"""What the looks of one student showed, each thing once with the lessons that showed it; one query.

Lessons show much the same, and a row costs more than its length: the database lists the lessons of a row. The catalogue
comes with it, so that what was merged is counted as what it was merged into without a join for each look.
"""

from dataclasses import dataclass, field
from functools import cache
from typing import Any, NamedTuple

from django.db.models import Aggregate, BigIntegerField, F, Q, QuerySet, TextField, Value
from django.db.models.functions import Cast, Coalesce, Concat

from coachbook.accounts.models import Student
from lessons.counted import MEASURED_SKILL, skill_of_fault
from lessons.models import Fault, Look, Observation, SeenFocus, Skill

MOMENTS = (Look.Kind.ARRIVAL.value, Look.Kind.DEPARTURE.value)
GOOD = Observation.Verdict.GOOD.value
COLUMNS = ("moment", "in_skill", "of_fault", "in_degree", "number", "own_words", "lessons")
CATALOGUE = ("skill", "fault")  # in place of a moment


class Listed(Aggregate):
    """The numbers of a group as one text, with commas between."""

    function = "GROUP_CONCAT"
    output_field = TextField()

    def as_postgresql(self, compiler: Any, connection: Any, **context: Any) -> Any:
        """PostgreSQL joins texts alone, under a name of its own."""
        template = "%(function)s((%(expressions)s)::text, ',')"
        return self.as_sql(compiler, connection, function="STRING_AGG", template=template, **context)


class Constant(Cast):
    """One value in every row, of a type that the other parts of a union can read; rows are not grouped by it."""

    def get_group_by_cols(self) -> list[Any]:
        """None: sorting by it would cost something in every look."""
        return []


NO_WORDS = Constant(Value(None), TextField())
NO_NUMBER = Constant(Value(None), BigIntegerField())
NUMBER = Cast("measure", TextField())  # as text, since reading decimals would cost something in every row
OWN_WORDS = Cast(Concat("focus__area", Value(": "), "focus__what"), TextField())


class Shown(NamedTuple):
    """What some lessons showed at one moment; its skill and fault as they were logged."""

    moment: str
    skill: int
    fault: int | None
    degree: str | None
    number: str | None
    own_words: str | None
    lessons: str


@dataclass
class Counted:
    """As what skills and faults are counted; a skill that is not named here is counted as itself."""

    skills: dict[int, int] = field(default_factory=dict)
    measured: dict[int, int] = field(default_factory=dict)
    faults: dict[int, int] = field(default_factory=dict)
    skill_of_fault: dict[int, int] = field(default_factory=dict)

    def add(self, kind: str, skill: int, one: int, other: int) -> None:
        """A row of the catalogue: the skill as which it is counted, itself, and as what else it is counted."""
        if kind == "skill":
            self.skills[one], self.measured[one] = skill, other
        else:
            self.skill_of_fault[one], self.faults[one] = skill, other


def shown_to(student: Student) -> tuple[list[Shown], Counted]:
    """What was good, the faults that were seen, what was measured, and what was seen of own words; one query.

    What a lesson of another student showed of a focus is left out: the lesson was moved here without its words.
    """
    whose = {"look__lesson__student": student}
    others, good, own = looks_of_anybody()
    looks = others.filter(**whose), good.filter(**whose), own.filter(focus__student=student, **whose)
    rows = looks[0].union(*looks[1:], *catalogue(), all=True)
    shown, counted = [], Counted()
    for row in rows:
        if row[0] in CATALOGUE:
            counted.add(row[0], row[1], row[2], int(row[-1]))
        else:
            shown.append(Shown._make(row))
    return shown, counted


@cache
def looks_of_anybody() -> tuple[QuerySet[Any, Any], ...]:
    """What is not good or was measured, what is good, and own words: of all students, so built once for all.

    What is good shows no fault, so only the others are joined to any. They stand first, whose columns Django gives as
    they come. Asking for those alone that name a fault, PostgreSQL may begin with the faults, which takes minutes.
    """
    moments = {"look__kind__in": MOMENTS}
    others = Observation.objects.filter(~Q(verdict=GOOD) | Q(measure__isnull=False), **moments)
    good = Observation.objects.filter(verdict=GOOD, **moments)
    own = SeenFocus.objects.filter(focus__fault=None, **moments)
    return (
        by_lesson(others, F("skill"), F("seen_faults__fault"), F("seen_faults__degree"), NUMBER, NO_WORDS),
        by_lesson(good, F("skill"), NO_NUMBER, Constant(Value(GOOD), TextField()), NO_WORDS, NO_WORDS),
        by_lesson(own, NO_NUMBER, NO_NUMBER, F("degree"), NO_WORDS, OWN_WORDS),
    )


def by_lesson(rows: QuerySet[Any], *columns: Any) -> QuerySet[Any, Any]:
    """The columns of rows that are alike once, with their lessons."""
    named = dict(zip(COLUMNS, (F("look__kind"), *columns), strict=False))
    found: QuerySet[Any, Any] = rows.values(**named).annotate(lessons=Listed("look__lesson")).values_list(*COLUMNS)
    return found


@cache
def catalogue() -> tuple[QuerySet[Any, Any], ...]:
    """The skills that were merged, and all faults, as `Counted.add` takes them."""
    skill, fault = (Constant(Value(kind), TextField()) for kind in CATALOGUE)
    merged = Skill.objects.filter(merged_into__isnull=False)
    return (
        in_columns(merged, skill, F("merged_into"), F("pk"), MEASURED_SKILL),
        in_columns(Fault.objects.all(), fault, skill_of_fault(), F("pk"), Coalesce("merged_into", "pk")),
    )


def in_columns(rows: QuerySet[Any], kind: Any, skill: Any, one: Any, other: Any) -> QuerySet[Any, Any]:
    """Rows of the catalogue in the columns of a look."""
    columns = (kind, skill, one, NO_WORDS, NO_WORDS, NO_WORDS, Cast(other, TextField()))
    named = dict(zip(COLUMNS, columns, strict=True))
    found: QuerySet[Any, Any] = rows.annotate(**named).values_list(*COLUMNS).order_by()
    return found
