"""`backup`: database and media of one moment in one folder; `backup --verify FOLDER`: whether it is whole."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand
from django.utils import timezone

from coachbook.operations.backups.make import make_backup, remove_older, verify_backup
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
        at = timezone.now()
        folder = verify or make_backup(at)
        if not verify:
            keep_keys(settings.BACKUP_DIR)
        manifest = verify_backup(folder)
        rows = sum(table["rows"] for table in manifest["tables"].values())
        files = len(manifest["files"]) - 1
        self.stdout.write(f"{folder} is whole: {rows:,} rows in {len(manifest['tables'])} tables, {files:,} files.")
        if keep is not None and not verify:
            for old in remove_older(at, keep):
                self.stdout.write(f"{old} was older than {keep} days and is removed.")
