"""Makes the tables of a PostgreSQL database straight from the models, and notes every migration as applied.

A test needs this in seconds; `tests/test_migrations.py` holds that the migrations make the same tables.
"""

import django
from django.conf import settings
from django.core.management import call_command

from tests.outage_academy import WithoutMigrations


def main() -> None:
    django.setup()
    from django.db import connection
    from django.db.migrations.recorder import MigrationRecorder

    from coachbook.operations.health import known_migrations

    known = known_migrations()
    settings.MIGRATION_MODULES = WithoutMigrations()
    call_command("migrate", run_syncdb=True, verbosity=0)
    recorder = MigrationRecorder(connection)
    recorder.ensure_schema()
    for app, name in known:
        recorder.record_applied(app, name)


if __name__ == "__main__":
    main()
