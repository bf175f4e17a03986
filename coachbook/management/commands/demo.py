"""Prepare the demo academy and serve it on this machine."""

import socket
from argparse import ArgumentParser
from datetime import date
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.utils import timezone

from coachbook.accounts.models import Academy, User
from coachbook.demo import days, people, stills, year
from coachbook.demo import scored_tests as scores
from coachbook.operations.prepare import prepare_database


class Command(BaseCommand):
    """`demo`: database, catalogue, an invented academy, the sign-ins, the site."""

    help = "Prepares the demo academy and serves it on this machine."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """`--no-serve` and `--port`."""
        parser.add_argument("--no-serve", action="store_true", help="prepare only")
        parser.add_argument("--port", type=int, default=8000)

    def handle(self, *args: Any, no_serve: bool, port: int, **options: Any) -> None:
        """Prepare, say how to come in, serve."""
        if settings.PRODUCTION:
            raise CommandError(
                "The demo's passwords are known to everybody: unset ALLOWED_HOSTS, or do not run it here."
            )
        if not no_serve:
            refuse_taken(port)
        prepare_database()
        fill(Academy(time_zone=people.TIME_ZONE).today(timezone.now()))
        self.print_sign_ins(port, served=not no_serve)
        if not no_serve:
            call_command("runserver", f"127.0.0.1:{port}", use_reloader=False, verbosity=0)

    def print_sign_ins(self, port: int, served: bool) -> None:
        """The address and the sign-ins."""
        self.stdout.write(f"\n{people.ACADEMY} (invented)")
        self.stdout.write(f"  Address   http://localhost:{port}/" + ("" if served else "  (not served: --no-serve)"))
        self.stdout.write(f"  Password  {people.PASSWORD}\n  User name")
        for role, username in people.sign_ins():
            self.stdout.write(f"    {username:<10} {role}")
        self.print_factor()
        if served:
            self.stdout.write("Stop it with Ctrl-C.\n")

    def print_factor(self) -> None:
        """What the manager is asked for after the password; nobody else is."""
        manager = User.objects.filter(username=people.username(people.MANAGER), is_manager=True).first()
        if manager:
            people.give_factor(manager)
            self.stdout.write(f"  After the password, {manager.username} is asked for one of these:")
            for label, words in people.factor_words(manager).items():
                self.stdout.write(f"    {label:<15} {words}")


@transaction.atomic
def fill(on: date) -> None:
    """Invent the people, their year and their days to come, all or none: an academy that is there keeps what it has."""
    if people.fill(on):
        year.fill(on)
        scores.fill(on)
        stills.fill(on)
        days.fill(on, timezone.now())


def refuse_taken(port: int) -> None:
    """Say in one line that somebody else listens there, before anything is prepared."""
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind(("127.0.0.1", port))
        except (OSError, OverflowError):
            other = port + 1 if 1024 <= port < 65535 else 8001
            raise CommandError(f"Port {port} cannot be had. Type: python3 manage.py demo --port {other}") from None
