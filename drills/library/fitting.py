"""Which drills fit a fault, and which of them comes first: the one place that decides."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from django.db.models import F, FilteredRelation, Q
from django.db.models.functions import Coalesce

from coachbook.accounts.models import Coach
from drills.library.models import Drill
from lessons.models import Fault

DOSE = ("dose_amount", "dose_unit", "dose_per_week", "dose_days")
# In the order of the model, as `from_db` takes them.
COLUMNS = ("id", "code", "position", "area", "name", "kind", "schedule", *DOSE)
KINDS, SCHEDULES = Drill.Kind.values, Drill.Schedule.values


class Fitting(NamedTuple):
    """How a drill fits one fault."""

    is_first: bool
    is_wrong: bool


class UsualDose(NamedTuple):
    """How much of a drill a coach usually gives."""

    amount: int
    unit: str
    per_week: int
    days: int


Row = tuple[Any, ...]

# What fits a fault that was merged fits the one that it was merged into.
FIT: dict[str, Any] = {
    "fit_fault": Coalesce("fits__fault__merged_into", "fits__fault"),
    **{f"fit_{name}": F(f"fits__{name}") for name in Fitting._fields},
}
USUAL: dict[str, Any] = {
    "usual_fault": Coalesce("kept__fault__merged_into", "kept__fault"),
    **{f"usual_{name}": F(f"kept__{name}") for name in UsualDose._fields},
}


@dataclass
class OfferedDrill:
    """A drill of the library, without its texts, and how it fits each fault, by the fault's id."""

    drill: Drill
    fits: dict[int, Fitting] = field(default_factory=dict)
    # The dose that the coach who is offered it usually gives for a fault, by the fault's id.
    usual: dict[int, UsualDose] = field(default_factory=dict)

    def mends(self, fault: Fault) -> bool:
        """Whether it may be offered for a fault."""
        return (fault.pk in self.usual or fault.pk in self.fits) and not self.is_wrong_for(fault)

    def is_wrong_for(self, fault: Fault) -> bool:
        """Whether it would make a fault worse, or teach the opposite."""
        return fault.pk in self.fits and self.fits[fault.pk].is_wrong

    def rank(self, fault: Fault) -> tuple[bool, bool, int, int, int, str]:
        """Its place among the drills for a fault: the usual, the first, then feel, constraint and as in play."""
        drill, fit = self.drill, self.fits.get(fault.pk)
        order = KINDS.index(drill.kind), SCHEDULES.index(drill.schedule), drill.position, drill.code
        return fault.pk not in self.usual, not (fit and fit.is_first), *order


def read_offered(coach: Coach | None = None, given: Collection[int] = ()) -> list[OfferedDrill]:
    """Every drill that a coach may give, in the order of the library; in one query, a row for each fault it fits.

    `given` are the ids of drills that a student has already: they stay, whosever they are.
    """
    found: dict[int, OfferedDrill] = {}
    kept = FilteredRelation("usual_for", condition=Q(usual_for__coach=coach))
    shown = Drill.offered_to(coach) | Drill.objects.filter(pk__in=given)
    # Tuples, since a drill has a row for each fault: a model is made of the first only.
    rows = shown.annotate(kept=kept).annotate(**FIT, **USUAL).values_list(*COLUMNS, *FIT, *USUAL)
    for row in rows:
        values, (fault, *fit), (usual_fault, *dose) = split(row, len(COLUMNS), len(FIT))
        if (offered := found.get(values[0])) is None:
            offered = found[values[0]] = OfferedDrill(Drill.from_db(shown.db, COLUMNS, values))
        if fault is not None:
            offered.fits[fault] = Fitting(*fit)
        if usual_fault is not None:
            offered.usual[usual_fault] = UsualDose(*dose)
    return list(found.values())


def split(row: Row, first: int, second: int) -> tuple[Row, Row, Row]:
    """A row in three parts, by the lengths of the first two."""
    return row[:first], row[first : first + second], row[first + second :]


def fitting_drills(fault: Fault, offered: Iterable[OfferedDrill]) -> list[Drill]:
    """The drills that mend a fault, the best first; never one that is wrong for it."""
    fitting = [row for row in offered if row.mends(fault)]
    return [row.drill for row in sorted(fitting, key=lambda row: row.rank(fault))]
