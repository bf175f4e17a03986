"""Load the skills and faults that come with the program."""

from pathlib import Path

from django.db import transaction

from lessons.models.catalogue import load_skills
from lessons.shipped import tables

CATALOGUE = Path(__file__).parent / "catalogue"


@transaction.atomic
def load_catalogue() -> None:
    """Bring the skills and faults up to date; what an academy has changed stays."""
    load_skills(list(tables(CATALOGUE, "skill")))
