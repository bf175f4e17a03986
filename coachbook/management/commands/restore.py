"""`restore FOLDER`: a backup into an empty place."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from coachbook.operations.backups.restore import restore_backup
from coachbook.rights.erasure.carry_out import keys_in, repeat_erasures


class Command(BaseCommand):
    """All of it, or nothing."""

    help = "Restores a backup into an empty database and an empty folder of media."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Which one."""
        parser.add_argument("folder", type=Path)

    def handle(self, *args: Any, folder: Path, **options: Any) -> None:
        """Restore it, and say what was compared."""
        if restore_backup(folder):
            self.stdout.write("Restored: every row of every table is as it was backed up.")
            if erased := repeat_erasures(keys_in(folder.parent)):
                self.stdout.write(f"Erased again, since they were erased after this backup was made: {erased}.")
        else:
            self.stdout.write("Restored from an earlier version; start erases again whoever was erased since.")
        self.stdout.write("Now type: python3 manage.py start")
