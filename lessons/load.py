"""Load the skills and faults that come with the program."""

from pathlib import Path

from django.db import transaction

from coachbook.accounts.models import Area
from lessons.derived import recompute_for_merged
from lessons.models import Checkpoint, Fault, Skill
from lessons.models.catalogue import load_skills
from lessons.shipped import tables

CATALOGUE = Path(__file__).parent / "catalogue"
CHECKPOINTS = ("Address", "End of the backswing", "Impact", "Finish")  # common practice of the trade, no source


@transaction.atomic
def load_catalogue() -> None:
    """Bring the skills and faults up to date; what an academy has changed stays."""
    before = merged_rows()
    load_skills(list(tables(CATALOGUE, "skill")))
    recompute_for_merged(merged_rows() - before)
    load_checkpoints()


def merged_rows() -> set[Skill | Fault]:
    """The skills and faults that are counted as others."""
    return {row for model in (Skill, Fault) for row in model._default_manager.filter(merged_into__isnull=False)}


def load_checkpoints() -> None:
    """Give its first checkpoints to each area that has none; from then on they are the academy's own."""
    known = set(Checkpoint.objects.values_list("area", flat=True))
    for area in Area:
        if area not in known:
            for position, name in enumerate(CHECKPOINTS):
                Checkpoint.objects.create(area=area, name=name, position=position)
