"""`backup`: database and media of one moment in one folder; `backup --verify FOLDER`: whether it is whole."""

from argparse import ArgumentParser
from datetime import datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand
from django.utils import timezone

from coachbook.operations.backups.make import make_backup, remove_older, verify_backup
from coachbook.operations.owner import refuse_root
from coachbook.rights.erasure.carry_out import keep_keys


class Command(BaseCommand):
    """A backup, while people write."""

    help = "Makes a backup in BACKUP_DIR while people write, or verifies one."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """What else."""
        parser.add_argument("--verify", type=Path, metavar="FOLDER", help="only say whether this backup is whole")
        parser.add_argument("--keep", type=int, metavar="DAYS", help="then remove backups that are older")

    def handle(self, *args: Any, verify: Path | None, keep: int | None, **options: Any) -> None:
        """Make or verify it."""
        if verify:
            return self.tell(verify)
        refuse_root()
        at = timezone.now()
        self.remove_older(at, keep)  # first as well: on a full disk they make room, and their time is over
        folder = make_backup(at)
        keep_keys(settings.BACKUP_DIR)
        self.tell(folder)
        self.remove_older(at, keep)

    def tell(self, folder: Path) -> None:
        """Verify a backup, and say what is in it."""
        manifest = verify_backup(folder)
        rows = sum(table["rows"] for table in manifest["tables"].values())
        files = len(manifest["files"]) - 1
        self.stdout.write(f"{folder} is whole: {rows:,} rows in {len(manifest['tables'])} tables, {files:,} files.")

    def remove_older(self, at: datetime, keep: int | None) -> None:
        """Remove what is older than so many days, and say so."""
        for old in remove_older(at, keep) if keep is not None else ():
            self.stdout.write(f"{old} was older than {keep} days and is removed.")
