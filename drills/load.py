"""Load the starting drill library."""

from pathlib import Path

from django.db import transaction

from drills.models import Design, Drill
from lessons.models import Skill
from lessons.shipped import tables, without

CATALOGUE, DESIGNS = (Path(__file__).parent / name for name in ("library/catalogue", "scored_tests/designs"))


@transaction.atomic
def load_drills() -> None:
    """Update the drills and designs that ship; the skills must be loaded first. What an academy reworded stays."""
    Design.ship_all([(row["code"], without(row, "code"), {}) for row in tables(DESIGNS, "design")])
    skills = dict(Skill.objects.values_list("code", "pk"))
    rows = list(tables(CATALOGUE, "drill"))
    drills = Drill.ship_all([(row["code"], without(row, "code", "trains"), {}) for row in rows])
    trains = Drill.trains.through.objects
    trains.bulk_create(
        (
            Drill.trains.through(drill_id=drill.pk, skill_id=skills[code])
            for drill, row in zip(drills, rows, strict=True)
            for code in row["trains"]
        ),
        ignore_conflicts=True,
    )
