"""Rows read together with what belongs to them in one query, where a page may not ask two."""

from collections.abc import Callable, Iterable, Sequence
from functools import reduce
from operator import or_
from typing import Any

from django.db.models import Case, F, Model, Q, QuerySet, When
from django.db.models.functions import Coalesce

from coachbook.accounts.models import Coach, Student
from lessons.models import Fault, Focus, Lesson, Observation, SeenFault, Skill

# The columns that are read, in the order of the model.
FAULT = ("id", "code", "position", "archived", "owner_id", "skill_id", "name", "goal", "plain", "feel")
SEEN = ("id", "observation_id", "fault_id", "degree")


def read_skills(
    coach: Coach | None = None, students: Iterable[Student] = (), lesson: Lesson | None = None
) -> list[Skill]:
    """The skills that a coach looks at, each with its `faults`, in the order of the catalogue; one query.

    They are the academy's and the coach's own, what the students' open focuses are about, and what a stored lesson
    showed, whosever it is. Faults of a skill that was merged stand with the skill that it was merged into.
    """
    open_focuses = Focus.objects.filter(student__in=list(students), closed_in=None, fault__isnull=False)
    worked_on = open_focuses.values_list(Coalesce("fault__merged_into", "fault"))
    seen = SeenFault.objects.filter(observation__look__lesson=lesson).values_list("fault")
    kept_anyway = [worked_on, seen] if lesson else [worked_on]
    is_kept = reduce(or_, (Q(faults__in=rows) for rows in kept_anyway), offered("faults__", coach))
    kept = columns("faults", FAULT) | {"faults_id": Case(When(is_kept, then="faults__id"))}
    merged = offered("merged_into__", coach) & Q(merged_into__isnull=False, faults_id__isnull=False)
    is_shown = reduce(or_, (Q(faults_id__in=rows) for rows in kept_anyway), offered("", coach) | merged)
    skills = Skill.objects.annotate(**kept).filter(is_shown)
    rows = skills.order_by("area", "position", "faults__position", "faults__id")
    return with_children(rows, "faults", Fault, FAULT, one_row=lambda skill: skill.merged_into_id)


def offered(relation: str, coach: Coach | None) -> Q:
    """The condition that a coach may choose a row: one of the academy's or their own that is not archived."""
    own = Q(**{f"{relation}owner": None})
    own |= Q(**{f"{relation}owner": coach}) if coach else Q()
    return own & Q(**{f"{relation}archived": False})


def read_observations(observations: "QuerySet[Observation]") -> list[Observation]:
    """Observations, each with its `seen_faults`."""
    rows = observations.annotate(**columns("seen_faults", SEEN)).order_by("pk", "seen_faults__pk")
    return with_children(rows, "seen_faults", SeenFault, SEEN)


def columns(relation: str, names: Sequence[str]) -> dict[str, Any]:
    """The columns of a relation under names that no field has."""
    return {f"{relation}_{name}": F(f"{relation}__{name}") for name in names}


def with_children(
    rows: Iterable[Any],
    name: str,
    model: type[Model],
    names: Sequence[str],
    one_row: Callable[[Any], int | None] = lambda row: None,
) -> list[Any]:
    """Each row once, and what was joined to it as its children; `row.name.all()` then asks the database nothing.

    `one_row` gives the key of the row to which the children of a row belong, behind its own; None for itself.
    """
    found: dict[int, tuple[Any, list[Model]]] = {}
    for row in rows:
        values = [getattr(row, f"{name}_{column}") for column in names]
        _, children = found.setdefault(row.pk, (row, []))
        if values[0] is not None:
            children.append(model.from_db(row._state.db, names, values))
    for row, children in list(found.values()):
        if (other := one_row(row)) in found:
            found[other][1].extend(children)
            del found[row.pk]
    return [attached(parent, name, children) for parent, children in found.values()]


def attached(parent: Any, name: str, children: list[Model]) -> Any:
    """The row with its children, kept where `prefetch_related` keeps them."""
    for child in children:
        setattr(child, parent._meta.get_field(name).field.name, parent)
    known = getattr(parent, name).all()
    known._result_cache, known._prefetch_done = children, True
    parent.__dict__.setdefault("_prefetched_objects_cache", {})[name] = known
    return parent
