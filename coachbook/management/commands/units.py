"""`units`: the systemd units of the site, printed or written where systemd looks for them."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from coachbook.operations.owner import owner

TEMPLATES = Path(__file__).parents[2] / "operations/units"


class Command(BaseCommand):
    """The site, the notices and the nightly backup, each for this folder."""

    help = "Prints the systemd units of the site, the notices and the nightly backup, or writes them into a folder."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """For whom, and where to."""
        parser.add_argument("--user", default=owner(), help=f"who runs the site; {owner()}, to whom the data belong")
        parser.add_argument("--into", type=Path, help="a folder to write them into, such as /etc/systemd/system")

    def handle(self, *args: Any, user: str, into: Path | None, **options: Any) -> None:
        """One after the other."""
        if into and not into.is_dir():
            raise CommandError(f"{into} is no folder.")
        for path in sorted(TEMPLATES.iterdir()):
            text = filled(path.read_text(encoding="utf-8"), user)
            if into:
                (into / path.name).write_text(text, encoding="utf-8")
            self.stdout.write(str(into / path.name) if into else f"# {path.name}\n{text}")


def filled(text: str, user: str) -> str:
    """A template with the places of this machine."""
    places = {
        "@USER@": user,
        "@FOLDER@": str(settings.BASE_DIR),
        "@DATA@": str(settings.DATA_DIR.resolve()),
        "@BACKUPS@": str(settings.BACKUP_DIR.resolve()),
    }
    for name, place in places.items():
        text = text.replace(name, place)
    return text
