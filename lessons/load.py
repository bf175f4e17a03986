"""Load the skills and faults that come with the program."""

from pathlib import Path

from django.db import transaction

from lessons.derived import recompute_for_merged
from lessons.models import Fault, Skill
from lessons.models.catalogue import load_skills
from lessons.shipped import tables

CATALOGUE = Path(__file__).parent / "catalogue"


@transaction.atomic
def load_catalogue() -> None:
    """Bring the skills and faults up to date; what an academy has changed stays."""
    before = merged_rows()
    load_skills(list(tables(CATALOGUE, "skill")))
    recompute_for_merged(merged_rows() - before)


def merged_rows() -> set[Skill | Fault]:
    """The skills and faults that are counted as others."""
    return {row for model in (Skill, Fault) for row in model._default_manager.filter(merged_into__isnull=False)}
