"""The order of the academy's rows."""

from django.db import transaction

from drills.library.rows.access import Row
from drills.library.rows.places import in_order


@transaction.atomic
def move(row: Row, *, up: bool) -> None:
    """Let a row change places with the one before or behind it, if there is one."""
    rows = list(in_order(row).select_for_update(of=("self",)))
    place = rows.index(row)
    other = place - 1 if up else place + 1
    if not 0 <= other < len(rows):
        return
    positions = [each.position for each in rows]
    if len(set(positions)) < len(positions):  # rows that were taken in from elsewhere may share a place
        positions = list(range(min(positions), min(positions) + len(rows)))
    rows[place], rows[other] = rows[other], rows[place]
    for each, position in zip(rows, positions, strict=True):
        if each.position != position:
            each.position = position
            each.save(update_fields=["position"])
