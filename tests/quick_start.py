"""A command of the site in a fresh process, with tables straight from the models and static files left uncompressed."""

import sys
from typing import Any

import django
from django.conf import settings
from django.core import management

from tests.outage_academy import WithoutMigrations

PLAIN = "django.contrib.staticfiles.storage.ManifestStaticFilesStorage"


def main() -> None:
    settings.MIGRATION_MODULES = WithoutMigrations()
    settings.STORAGES["staticfiles"]["BACKEND"] = PLAIN
    django.setup()
    from coachbook.operations import prepare

    def call(name: str, **options: Any) -> None:
        management.call_command(name, **options, run_syncdb=True)

    prepare.call_command = call
    management.execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
