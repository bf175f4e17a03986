"""Rows read together with what belongs to them in one query, where a page may not ask two."""

from collections.abc import Iterable, Sequence
from typing import Any

from django.db.models import F, FilteredRelation, Model, Q, QuerySet

from lessons.models import Fault, Observation, SeenFault, Skill

# The columns that are read, in the order of the model.
FAULT = ("id", "code", "position", "skill_id", "name", "goal", "plain", "feel")
SEEN = ("id", "observation_id", "fault_id", "degree")


def read_skills() -> list[Skill]:
    """The skills that are looked at, each with its `faults`, in the order of the catalogue."""
    kept = FilteredRelation("faults", condition=Q(faults__archived=False))
    skills = Skill.objects.filter(archived=False).annotate(kept=kept, **columns("kept", FAULT))
    return with_children(
        skills.order_by("area", "position", "kept__position", "kept__id"), "faults", Fault, FAULT, "kept"
    )


def read_observations(observations: "QuerySet[Observation]") -> list[Observation]:
    """Observations, each with its `seen_faults`."""
    rows = observations.annotate(**columns("seen_faults", SEEN)).order_by("pk", "seen_faults__pk")
    return with_children(rows, "seen_faults", SeenFault, SEEN)


def columns(relation: str, names: Sequence[str]) -> dict[str, F]:
    """The columns of a relation under names that no field has."""
    return {f"{relation}_{name}": F(f"{relation}__{name}") for name in names}


def with_children(
    rows: Iterable[Any], name: str, model: type[Model], names: Sequence[str], relation: str = ""
) -> list[Any]:
    """Each row once, and what was joined to it as its children; `row.name.all()` then asks the database nothing."""
    found: dict[int, tuple[Any, list[Model]]] = {}
    for row in rows:
        values = [getattr(row, f"{relation or name}_{column}") for column in names]
        _, children = found.setdefault(row.pk, (row, []))
        if values[0] is not None:
            children.append(model.from_db(row._state.db, names, values))
    return [attached(parent, name, children) for parent, children in found.values()]


def attached(parent: Any, name: str, children: list[Model]) -> Any:
    """The row with its children, kept where `prefetch_related` keeps them."""
    for child in children:
        setattr(child, parent._meta.get_field(name).field.name, parent)
    known = getattr(parent, name).all()
    known._result_cache, known._prefetch_done = children, True
    parent.__dict__.setdefault("_prefetched_objects_cache", {})[name] = known
    return parent
