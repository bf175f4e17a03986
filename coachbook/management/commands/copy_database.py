"""`copy_database --to postgres:///NAME`: the rows of the SQLite file into an empty PostgreSQL database."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand
from django.db import connection

from coachbook.operations.backups.rows import Tables
from coachbook.operations.growth.copy import copy_database

NEXT = """\
Now write into the settings of the site: DATABASE_URL={url}
and start it again. Everybody stays signed in. {file} is an old copy from now on: once the site
runs, move it to the backups, and remove it within 35 days, since who is erased still stands in it."""


class Command(BaseCommand):
    """All of it, compared, or nothing."""

    help = "Copies all rows of the site's SQLite file into an empty PostgreSQL database, and compares every table."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Where to, and whether it is only tried."""
        help = "such as postgres:///coachbook; a password is better kept in PGPASSWORD or ~/.pgpass than typed here"
        parser.add_argument("--to", required=True, metavar="ADDRESS", help=help)
        help = "copy and compare while people write, and keep nothing of it"
        parser.add_argument("--rehearse", action="store_true", help=help)

    def handle(self, *args: Any, to: str, rehearse: bool, verbosity: int, **options: Any) -> None:
        """Copy, and say what was compared and what is next."""
        tables, left = copy_database(to, rehearse)
        if verbosity > 1:
            self.print_tables(tables)
        if left:
            self.stdout.write(f"Left behind, since they are none of coachbook's: {', '.join(left)}.")
        rows = sum(table["rows"] for table in tables.values())
        self.stdout.write(f"{rows:,} rows in {len(tables)} tables: both databases have the same rows and checksums.")
        self.stdout.write(
            "This was a rehearsal: nothing is kept." if rehearse else NEXT.format(url=to, file=file_of_site())
        )

    def print_tables(self, tables: Tables) -> None:
        """The numbers of each table."""
        for name, table in tables.items():
            self.stdout.write(f"{name:<46}{table['rows']:>10,}  {table['sha256']}")


def file_of_site() -> str:
    """Where the SQLite file lies."""
    return str(connection.settings_dict["NAME"])
