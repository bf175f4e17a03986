"""Which drills fit a fault: the one place that decides."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from django.db.models import F

from drills.library.models import Drill
from lessons.models import Fault

OFFERED = ("code", "name", "area", "position", "dose_amount", "dose_unit", "dose_per_week", "dose_days")


@dataclass
class OfferedDrill:
    """A drill of the library, without its texts, and the ids of the skills that it trains."""

    drill: Drill
    trained: set[int | None] = field(default_factory=set)


def read_offered() -> list[OfferedDrill]:
    """Every drill that may be given, in the order of the library; in one query, a row for each skill it trains."""
    found: dict[int, OfferedDrill] = {}
    for drill in Drill.objects.filter(archived=False).only(*OFFERED).annotate(skill=F("trains")):
        found.setdefault(drill.pk, OfferedDrill(drill)).trained.add(drill.skill)
    return list(found.values())


def fitting_drills(fault: Fault, offered: Iterable[OfferedDrill]) -> list[Drill]:
    """The drills that train the skill of a fault, in the order of the library."""
    return [row.drill for row in offered if fault.skill_id in row.trained]
