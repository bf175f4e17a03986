"""Load the starting drill library."""

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from django.db import transaction
from simple_history.utils import bulk_create_with_history

from drills.models import Design, Drill, Fit
from lessons.models import Fault
from lessons.shipped import merges_of, tables, without

CATALOGUE, DESIGNS = (Path(__file__).parent / name for name in ("library/catalogue", "scored_tests/designs"))
FITTING = ("mends", "first_for", "wrong_for")


@transaction.atomic
def load_drills() -> None:
    """Update the drills and designs that ship; the faults must be loaded first. What an academy changed stays."""
    Design.ship_all([(row["code"], without(row, "code"), {}) for row in tables(DESIGNS, "design")])
    rows = list(tables(CATALOGUE, "drill"))
    drills = Drill.ship_all([(row["code"], without(row, "code", "trains", "was", *FITTING), {}) for row in rows])
    Drill.take_over(merges_of(rows))
    ship_fits([(drill, row) for drill, row in zip(drills, rows, strict=True) if not drill.is_changed])


def ship_fits(shipped: Iterable[tuple[Drill, dict[str, Any]]]) -> None:
    """Store which faults each shipped drill mends and for which it is wrong; those of an older version go."""
    faults = {fault.code: fault for fault in Fault.objects.select_related("skill")}
    shipped = list(shipped)
    new = {(fit.drill_id, fit.fault_id): fit for drill, row in shipped for fit in fits_of(drill, row, faults)}
    stored = {
        (fit.drill_id, fit.fault_id): fit for fit in Fit.objects.filter(drill__in=[drill for drill, _ in shipped])
    }
    for key in stored.keys() - new.keys():
        stored[key].delete()
    for key, fit in new.items():
        old = stored.get(key)
        if old and (old.is_first, old.is_wrong) != (fit.is_first, fit.is_wrong):
            old.is_first, old.is_wrong = fit.is_first, fit.is_wrong
            old.save()
    bulk_create_with_history([fit for key, fit in new.items() if key not in stored], Fit)


def fits_of(drill: Drill, row: dict[str, Any], faults: dict[str, Fault]) -> Iterator[Fit]:
    """The rows that a drill's table stands for."""
    trained = [code for code, fault in faults.items() if fault.skill.code in row.get("trains", ())]
    for code in row.get("mends", trained):
        yield Fit(drill=drill, fault=faults[code], is_first=code in row.get("first_for", ()))
    for code in row.get("wrong_for", ()):
        yield Fit(drill=drill, fault=faults[code], is_wrong=True)
