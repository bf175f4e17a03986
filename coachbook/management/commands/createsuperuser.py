"""`createsuperuser` makes nobody: no page here is for a superuser, and every one would refuse them."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError


class Command(BaseCommand):
    """In place of Django's own."""

    help = "Makes nobody; `start` makes the first manager."
    requires_system_checks = []
    stealth_options = ("interactive", "database", "username", "email")

    def run_from_argv(self, argv: list[str]) -> None:
        """Leave out the options of Django's own: whatever they are, the answer is the same."""
        super().run_from_argv(argv[:2])

    def handle(self, *args: Any, **options: Any) -> None:
        """Refuse, with what to use instead."""
        raise CommandError(
            "Nobody was made: every page here would refuse a superuser. The first manager is made by: python3 "
            "manage.py start\nEverybody else is invited by a manager, in the site, on the page People."
        )
