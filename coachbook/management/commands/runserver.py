"""`manage.py runserver`: Django's own, which first says in one line what would keep it from saving."""

from typing import Any

from django.contrib.staticfiles.management.commands import runserver

from coachbook.outages import probe


class Command(runserver.Command):
    """Django's own, behind a probe of disk and database."""

    def handle(self, *args: Any, **options: Any) -> None:
        """Raise what is wrong before the part that reloads begins: there, it would be a traceback."""
        probe()
        super().handle(*args, **options)
