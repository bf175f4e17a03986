"""`clean_stills`: erase what was taken away long ago, and files without a row; run it once a day."""

from argparse import ArgumentParser
from typing import Any

from django.core.files.storage import default_storage
from django.core.management.base import BaseCommand
from django.utils import timezone

from lessons.stills.erasing import due_stills, erase_stills, orphans


class Command(BaseCommand):
    """`clean_stills`: for cron; it names nobody."""

    help = "Erases the stills that were taken away 30 days ago, and files of pictures to which nothing belongs."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Whether only to count."""
        parser.add_argument("--dry-run", action="store_true", help="only say how many there are")

    def handle(self, *args: Any, dry_run: bool, **options: Any) -> None:
        """Erase both."""
        now = timezone.now()
        stills, files = due_stills(now), list(orphans(now))
        number = stills.count() if dry_run else erase_stills(stills)
        for path in [] if dry_run else files:
            default_storage.delete(path)
        said = "To erase" if dry_run else "Erased"
        self.stdout.write(f"{said}: {number} stills that were taken away, {len(files)} files that belong to nothing.")
