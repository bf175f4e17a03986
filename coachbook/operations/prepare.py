"""What every academy needs before its people: the tables, and the skills and drills that come with the program."""

from django.core.management import call_command

from coachbook.outages import probe
from drills.load import load_drills
from lessons.load import load_catalogue


def prepare_database() -> None:
    """Bring tables and library up to this version; what an academy has changed stays."""
    probe()
    call_command("migrate", verbosity=0)
    load_catalogue()
    load_drills()
