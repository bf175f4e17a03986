"""`restore FOLDER`: a backup into an empty place."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from coachbook.operations.backups.manifest import SORTED_COLUMNS
from coachbook.operations.backups.restore import is_of_this_version, restore_backup
from coachbook.operations.owner import refuse_root
from coachbook.rights.erasure.carry_out import keys_in, remember, repeat_erasures


class Command(BaseCommand):
    """All of it, or nothing."""

    help = "Restores a backup into an empty database and an empty folder of media."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Which one."""
        parser.add_argument("folder", type=Path)

    def handle(self, *args: Any, folder: Path, **options: Any) -> None:
        """Restore it, and say what was compared."""
        refuse_root()
        manifest, erased = restore_backup(folder), keys_in(folder.parent)
        by_numbers = manifest["format_version"] < SORTED_COLUMNS
        what = "has as many rows as were" if by_numbers else "holds the very rows that were"
        self.stdout.write(f"Restored: every table {what} backed up.")
        if not is_of_this_version(manifest):
            remember(erased)
            self.stdout.write("It is of an earlier version; start erases again whoever was erased since.")
        elif number := repeat_erasures(erased):
            self.stdout.write(f"Erased again, since they were erased after this backup was made: {number}.")
        self.stdout.write("Now type: python3 manage.py start")
