"""Load the starting drill library."""

from pathlib import Path

from django.db import transaction

from drills.models import Design, Drill
from lessons.models import Skill
from lessons.shipped import tables

CATALOGUE, DESIGNS = (Path(__file__).parent / name for name in ("library/catalogue", "scored_tests/designs"))


@transaction.atomic
def load_drills() -> None:
    """Update the drills and designs that ship; the skills must be loaded first. What an academy reworded stays."""
    for row in tables(DESIGNS, "design"):
        Design.ship(row["code"], {name: value for name, value in row.items() if name != "code"})
    skills = {skill.code: skill for skill in Skill.objects.all()}
    for row in tables(CATALOGUE, "drill"):
        values = {name: value for name, value in row.items() if name not in ("code", "trains")}
        drill = Drill.ship(row["code"], values)
        drill.trains.add(*(skills[code] for code in row["trains"]))
