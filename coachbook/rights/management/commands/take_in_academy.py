"""`take_in_academy FILE`: what `save_academy` or the page wrote, into an empty place."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any
from urllib.parse import urljoin

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from coachbook.accounts.models import User
from coachbook.operations.academy import invite
from coachbook.operations.backups.databases import is_empty
from coachbook.rights.academy_file.pictures import missing_pictures
from coachbook.rights.academy_file.reading import FileProblem
from coachbook.rights.academy_file.take_in import take_in_academy
from coachbook.rights.erasure.carry_out import repeat_erasures


class Command(BaseCommand):
    """All of it, or nothing."""

    help = "Takes the file of an academy into an empty database: every row or none, compared with what was saved."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Which one."""
        parser.add_argument("file", type=Path)
        parser.add_argument("--edited", action="store_true", help="the tables were changed since they were saved")

    def handle(self, *args: Any, file: Path, edited: bool, **options: Any) -> None:
        """Take it in, and say what was compared and how to sign in."""
        if is_empty():
            call_command("migrate", verbosity=0)
        try:
            rows = take_in_academy(file, is_edited=edited)
        except FileProblem as problem:
            raise CommandError(f"{problem}\nNothing was taken in.") from None
        how = "as they stand in the file" if edited else "every row of every table is as it was saved"
        self.stdout.write(f"Taken in: {rows:,} rows, {how}.")
        if missing := missing_pictures():
            self.stdout.write(f"Files of pictures that are not in it: {missing}. Their rows say that they were there.")
        if erased := repeat_erasures():
            self.stdout.write(f"Erased again, since they were erased after this file was made: {erased}.")
        self.open_door()

    def open_door(self) -> None:
        """A link for one manager, who invites everybody else."""
        self.stdout.write("Nobody has a password here, nor a second factor. Shared links of sheets and calendars end.")
        manager = User.objects.filter(is_manager=True, is_active=True).order_by("pk").first()
        if manager:
            link = urljoin(settings.SITE_ADDRESS or "https://YOUR-SITE", invite(manager, timezone.now()))
            self.stdout.write(f"{manager} chooses a password here, once, and invites all others on the page People:")
            self.stdout.write(f"  {link}")
        self.stdout.write("Now type: python3 manage.py start")
