"""`save_academy FILE`: the whole academy as one ZIP of tables."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from coachbook.rights.academy_file.archive import save_academy
from coachbook.rights.models import AcademyFile


class Command(BaseCommand):
    """While people write; a row is kept that it was done."""

    help = "Saves everything that the academy has recorded as a ZIP of CSV tables, but no password and no secret."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Where to."""
        parser.add_argument("file", type=Path, help="a new file, such as academy.zip")

    def handle(self, *args: Any, file: Path, **options: Any) -> None:
        """Write it under another name, and rename it once it is whole."""
        now, unfinished = timezone.localtime(timezone.now()), file.with_name(f"{file.name}.unfinished")
        if file.exists():
            raise CommandError(f"{file} is there already.")
        if not file.parent.is_dir():
            raise CommandError(f"There is no folder {file.parent}.")
        try:
            unfinished.touch(mode=0o600)
            with unfinished.open("w+b") as written:
                contents = save_academy(written, now)
            AcademyFile.objects.create(at=now)
            unfinished.rename(file)
        finally:
            unfinished.unlink(missing_ok=True)
        rows = sum(table["rows"] for table in contents["files"].values())
        self.stdout.write(f"{file}: {rows:,} rows in {len(contents['files'])} tables.")
        self.stdout.write("It holds records of children: keep it where nobody else reads it.")
