"""The order of the academy's skills in their area, and of its faults under their skill."""

from typing import Any

from django.db import transaction

from drills.library.skills.access import Row
from lessons.arrivals import COUNTED_SKILL
from lessons.models import Fault, Skill


@transaction.atomic
def move(row: Row, *, up: bool) -> bool:
    """Let a row change places with the one before or behind it; whether there is one."""
    rows = list(in_order(row).select_for_update(of=("self",)))
    place = rows.index(row)
    other = place - 1 if up else place + 1
    if not 0 <= other < len(rows):
        return False
    rows[place], rows[other] = rows[other], rows[place]
    for position, each in enumerate(rows):
        if each.position != position:
            each.position = position
            each.save(update_fields=["position"])
    return True


def in_order(row: Row) -> Any:
    """The academy's rows among which it stands."""
    if isinstance(row, Skill):
        return Skill.objects.filter(owner=None, archived=False, area=row.area).order_by("position", "pk")
    faults = Fault.objects.filter(owner=None, archived=False).annotate(under=COUNTED_SKILL)
    return faults.filter(under=row.counted_skill.pk).order_by("position", "pk")
