"""Write the rows of a plan: all of them or none."""

from collections.abc import Collection
from typing import Any

from django.db import transaction
from simple_history.utils import bulk_create_with_history

from drills.library.carry.kinds import KINDS, column_values, written_fits
from drills.library.carry.plan import Plan, PlannedRow, State
from drills.load import ship_fits
from lessons.derived import recompute_for_merged


class Impossible(ValueError):
    """What was chosen cannot be stored together; the message says why."""


@transaction.atomic
def take_in(plan: Plan, replaced: Collection[str]) -> list[PlannedRow]:
    """Store the new rows, and the changed ones whose keys are given; returns both. Raises Impossible.

    A row that replaces another counts as changed by a person, so that no new version of the program touches it.
    """
    rows = [row for row in plan.rows if row.state == State.NEW or (row.state == State.CHANGED and row.key in replaced)]
    check_merges(plan, rows)
    moved = [row for row in rows if row.state == State.CHANGED and is_merged_anew(row)]
    for plural in KINDS:
        store(plan, plural, [row for row in rows if row.plural == plural])
    ship_fits([(row.stored, row.values | hidden_fits(plan, row)) for row in rows if row.plural == "drills"])
    recompute_for_merged([row.stored for row in moved if row.plural in ("skills", "faults")])
    return rows


def is_merged_anew(row: PlannedRow) -> bool:
    """Whether a stored row is counted as another one from now on, or no more as it was."""
    before = row.stored.merged_into.code if row.stored.merged_into else ""
    return bool(row.values["merged_into"] != before)


def check_merges(plan: Plan, rows: list[PlannedRow]) -> None:
    """Raise Impossible where a row would be merged into one that is merged itself, since some rows stay as they are."""
    for plural in KINDS:
        into = {code: row.merged_into.code for code, row in plan.library.rows[plural].items() if row.merged_into}
        into |= {row.code: row.values["merged_into"] for row in rows if row.plural == plural}
        for row in (row for row in rows if row.plural == plural):
            if into.get(into[row.code]) or (into[row.code] and row.code in into.values()):
                raise Impossible(
                    f"“{row.name}” and a row that stays as it is here cannot both be merged. Look at both."
                )


def store(plan: Plan, plural: str, rows: list[PlannedRow]) -> None:
    """Store the rows of one kind; what they are merged into comes once all of them are there."""
    here: dict[str, Any] = dict(plan.library.rows[plural])
    new = [row for row in rows if row.state == State.NEW]
    made = bulk_create_with_history([new_row(plan, row) for row in new], KINDS[plural].model)
    for row, stored in zip(new, made, strict=True):
        row.stored = here[row.code] = stored
        plan.library.rows[plural][row.code] = stored
    for row in rows:
        into = here[row.values["merged_into"]] if row.values["merged_into"] else None
        if row.state == State.CHANGED:
            change(plan, row, into)
        elif into:
            row.stored.merged_into = into
            row.stored.save()


def new_row(plan: Plan, row: PlannedRow) -> Any:
    """A row that is not stored yet, without what it is merged into."""
    values = column_values(row.plural, row.values) | links(plan, row)
    common = {"code": row.code, "position": row.values["position"], "owner": plan.library.coach}
    return KINDS[row.plural].model(**common, edition=int(row.values["edited"]), **values)


def change(plan: Plan, row: PlannedRow, into: Any) -> None:
    """Give a stored row the values of the file."""
    values = column_values(row.plural, row.values) | links(plan, row) | {"merged_into": into}
    for name, value in values.items():
        setattr(row.stored, name, value)
    row.stored.edition += 1
    row.stored.save()


def links(plan: Plan, row: PlannedRow) -> dict[str, Any]:
    """The rows that a row needs from the beginning: the skill of a fault."""
    return {"skill": plan.library.rows["skills"][row.values["skill"]]} if row.plural == "faults" else {}


def hidden_fits(plan: Plan, row: PlannedRow) -> dict[str, list[str]]:
    """The fits of a drill with those that the person cannot see, such as to a fault of another coach: they stay."""
    if row.state == State.NEW:
        return {}
    stored, seen = written_fits(row.stored), plan.library.written("drills", row.stored)
    return {
        name: [*row.values[name], *(code for code in codes if code not in seen[name])] for name, codes in stored.items()
    }
