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
COLUMNS = ("code", "name", "area", "position", "kind", "schedule", *DOSE)
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
    fit: dict[str, Any] = {f"fit_{name}": F(f"fits__{name}") for name in ("is_first", "is_wrong")}
    usual: dict[str, Any] = {f"usual_{name}": F(f"kept__{name}") for name in UsualDose._fields}
    # What fits a fault that was merged fits the one that it was merged into.
    fit["fit_fault"] = Coalesce("fits__fault__merged_into", "fits__fault")
    usual["usual_fault"] = Coalesce("kept__fault__merged_into", "kept__fault")
    kept = FilteredRelation("usual_for", condition=Q(usual_for__coach=coach))
    shown = Drill.offered_to(coach) | Drill.objects.filter(pk__in=given)
    rows: Iterable[Any] = shown.only(*COLUMNS).annotate(kept=kept).annotate(**fit, **usual)
    for drill in rows:
        offered = found.setdefault(drill.pk, OfferedDrill(drill))
        if drill.fit_fault is not None:
            offered.fits[drill.fit_fault] = Fitting(drill.fit_is_first, drill.fit_is_wrong)
        if drill.usual_fault is not None:
            dose = (getattr(drill, f"usual_{name}") for name in UsualDose._fields)
            offered.usual[drill.usual_fault] = UsualDose(*dose)
    return list(found.values())


def fitting_drills(fault: Fault, offered: Iterable[OfferedDrill]) -> list[Drill]:
    """The drills that mend a fault, the best first; never one that is wrong for it."""
    fitting = [row for row in offered if row.mends(fault)]
    return [row.drill for row in sorted(fitting, key=lambda row: row.rank(fault))]
