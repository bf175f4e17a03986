"""`erase`: carry out the erasures that are due; run it once a day."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from coachbook.accounts.models import Academy
from coachbook.rights.erasure.asking import erase_due
from coachbook.rights.erasure.carry_out import overwrite_deleted
from coachbook.rights.models import ErasureRequest


class Command(BaseCommand):
    """`erase`: for cron; it names nobody."""

    help = "Erases the students whose erasure was asked for and whose time to call it off is over."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Whether only to count."""
        parser.add_argument("--dry-run", action="store_true", help="only say how many are due")

    def handle(self, *args: Any, dry_run: bool, **options: Any) -> None:
        """Erase, then write the file of the database anew: also where an earlier run could not."""
        now, academy = timezone.now(), Academy.current()
        if dry_run:
            number = ErasureRequest.objects.due(academy.today(now)).count()
            self.stdout.write(f"Due to be erased: {number}.")
            return
        number = erase_due(academy, now)
        self.stdout.write(f"Erased: {number}.")
        if not overwrite_deleted():
            self.stdout.write("The database is in use: run the command again to overwrite what was deleted.")
