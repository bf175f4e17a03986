"""Where a row of the catalogue stands among the others of its kind, and that its name is its own there."""

from typing import Any

from django.db.models import QuerySet

from drills.library.rows.access import Row
from drills.models import Drill
from lessons.counted import COUNTED_SKILL
from lessons.matching import fold
from lessons.models import Fault
from lessons.wording import render_typed


def area_of(row: Row) -> str:
    """The area of a row, or of a fault's skill."""
    return row.skill.area if isinstance(row, Fault) else row.area


def in_its_area(row: Row) -> QuerySet[Any]:
    """All rows of its kind in its area."""
    area = {"skill__area" if isinstance(row, Fault) else "area": area_of(row)}
    return type(row)._default_manager.filter(**area)


def beside(row: Row) -> QuerySet[Any]:
    """The rows among which it has its place, in their order: faults under one skill, all else in one area."""
    if isinstance(row, Fault):
        under = Fault.objects.annotate(under=COUNTED_SKILL).filter(under=row.counted_skill.pk)
        return under.order_by("position", "pk")
    return in_its_area(row).order_by("position", "pk")


def in_order(row: Row) -> QuerySet[Any]:
    """The academy's rows among which it is ordered; drills are ordered within their kind, as logs offer them."""
    rows = beside(row).filter(owner=None, archived=False)
    return rows.filter(kind=row.kind) if isinstance(row, Drill) else rows


def next_position(row: Row) -> int:
    """The place behind all others."""
    last = beside(row).last()
    return last.position + 1 if last else 0


def plain_name(wording: str) -> str:
    """A name as it is compared with others."""
    return fold(" ".join(render_typed(wording).split()))[0]


def name_is_taken(row: Row, name: str) -> bool:
    """Whether another row of its kind and area has a name that is offered to the same people."""
    offered = type(row).offered_to(row.owner) & in_its_area(row)
    return plain_name(name) in {plain_name(other.name) for other in offered.exclude(pk=row.pk).only("name")}
