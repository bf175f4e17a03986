"""Finding all rows that are about a student, those of which only the history is left among them."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from typing import Any

from django.db.models import Model

from coachbook.accounts.models import Student, User
from coachbook.diary.models import Appointment
from coachbook.groups.models import GroupDefaults
from coachbook.rights.erasure.belongs import history_of, owned_models
from lessons.models import Lesson

Rows = dict[type[Model], set[Any]]
MANY = 500  # keys in one query


def in_parts(keys: Iterable[Any]) -> Iterator[list[Any]]:
    """The keys, as many at a time as a query takes."""
    ordered = sorted(keys)
    return (ordered[start : start + MANY] for start in range(0, len(ordered), MANY))


def collect(student: Student) -> Rows:
    """The primary keys of all rows that are about a student, by table."""
    rows: Rows = defaultdict(set)
    rows[Student].add(student.pk)
    follow(rows)
    students = Student.objects.filter(pk__in=rows[Student]).select_related("user__coach")
    rows[User] |= {one.user.pk for one in students if one.user and is_only_a_student(one.user)}
    rows[Appointment] |= alone_in(Appointment.students.through, "appointment", rows[Student])
    sessions = sessions_of(rows[Student])
    rows[GroupDefaults] |= set(GroupDefaults.objects.filter(session__in=sessions).values_list("pk", flat=True))
    follow(rows)
    return rows


def follow(rows: Rows) -> None:
    """Add every row that points to one that was found, until there are no more."""
    before = -1
    while before != (before := sum(map(len, rows.values()))):
        for model, columns in owned_models():
            for column in columns:
                field: Any = model._meta.get_field(column)
                rows[model] |= pointing_to(model, column, rows.get(field.related_model, set()))


def pointing_to(model: type[Model], column: str, parents: set[Any]) -> set[Any]:
    """The rows whose column holds one of these keys, and those that held one until they were deleted.

    A row that was corrected, and belongs to somebody else by now, is theirs.
    """
    history, name = history_of(model), model._meta.pk.attname
    found: set[Any] = set()
    for part in in_parts(parents):
        found |= set(model._base_manager.filter(**{f"{column}__in": part}).values_list("pk", flat=True))
        if history:
            found |= deleted(model, set(history.objects.filter(**{f"{column}__in": part}).values_list(name, flat=True)))
    return found


def deleted(model: type[Model], keys: set[Any]) -> set[Any]:
    """Those of the keys under which no row is left."""
    left = (model._base_manager.filter(pk__in=part).values_list("pk", flat=True) for part in in_parts(keys))
    return keys.difference(*left)


def is_only_a_student(user: User) -> bool:
    """Whether nothing of the account is left without the student; a colleague's or guardian's own one stays."""
    return not (user.is_manager or user.is_coach or user.guardianships.exists())


def alone_in(between: Any, column: str, students: set[int]) -> set[Any]:
    """What these students have for themselves alone."""
    own = set(between.objects.filter(student__in=students).values_list(column, flat=True))
    others = between.objects.filter(**{f"{column}__in": own}).exclude(student__in=students)
    return own - set(others.values_list(column, flat=True))


def sessions_of(students: set[int]) -> set[int]:
    """The sessions in which nobody else was taught."""
    return alone_in(Lesson, "session", students)
