"""`start`: an academy of one's own, from an empty folder to the first manager's link; and again after each upgrade."""

import os
import sys
from argparse import ArgumentParser
from typing import Any
from urllib.parse import urljoin

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from coachbook.accounts.models import Academy, User
from coachbook.demo import people
from coachbook.operations.academy import FirstManagerForm, NewAcademyForm, invite, make_academy, unopened_manager
from coachbook.operations.asking import fill_form
from coachbook.operations.owner import refuse_root
from coachbook.operations.prepare import prepare_database
from coachbook.operations.site_settings import SiteForm, write_settings
from coachbook.rights.erasure.carry_out import repeat_erasures

SITE = {"host": "host", "database": "database"}
ACADEMY = {"name": "academy", "time_zone": "time_zone", "units": "units", "paper": "paper"}
MANAGER = {"name": "manager_name", "email": "manager_email"}
A_SECOND = (
    "There is a manager already. Managers invite each other in the site, on the page People; one whose second factor "
    "is lost needs: python3 manage.py reset_factor NAME\n"
    "Where nobody can sign in as a manager any more, add --another-manager."
)


class Command(BaseCommand):
    """Settings, database, library, static files, academy, first manager."""

    help = (
        "Makes an academy of your own, and brings it up to date after an upgrade: asks for what it must know and no "
        "option says. Run again, it changes nothing of yours."
    )
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """What would be asked."""
        parser.add_argument("--host", help="name of the site in the network, such as book.example")
        parser.add_argument("--database", help="such as postgres:///coachbook; SQLite where it is left out")
        parser.add_argument("--academy", help="name of the academy")
        parser.add_argument("--time-zone", help="such as Europe/Dublin")
        parser.add_argument("--units", help="m or ft")
        parser.add_argument("--paper", help="A4 or Letter")
        parser.add_argument("--manager-name", help="name of the first manager")
        parser.add_argument("--manager-email", help="and their e-mail")
        parser.add_argument("--another-manager", action="store_true", help="make a manager although there is one")
        parser.add_argument("--no-input", action="store_true", help="ask nothing")

    def handle(self, *args: Any, **options: Any) -> None:
        """All of it; each step leaves what is there."""
        refuse_root()
        options["ask"] = not options["no_input"] and sys.stdin.isatty()
        if not settings.PRODUCTION:
            return self.write_settings(options)
        call_command("check", deploy=True)
        self.stdout.write("Preparing the database ...")
        prepare_database()
        refuse_demo()
        repeat_erasures()  # after a restore from an earlier version
        # The unit of the backup may write there alone.
        settings.BACKUP_DIR.mkdir(mode=0o700, parents=True, exist_ok=True)
        self.stdout.write("Gathering the static files ...")
        call_command("collectstatic", interactive=False, verbosity=0)
        self.make_academy(options)
        self.stdout.write("Ready. Start the site, or restart it after an upgrade: systemctl restart coachbook")

    def write_settings(self, options: dict[str, Any]) -> None:
        """Write the file of settings, and begin again with it."""
        form = fill_form(SiteForm, options, SITE)
        write_settings(settings.SETTINGS_FILE, **form.cleaned_data)
        self.stdout.write(f"Settings are kept in {settings.SETTINGS_FILE}.")
        self.stdout.flush()
        os.execv(sys.executable, sys.orig_argv)

    def make_academy(self, options: dict[str, Any]) -> None:
        """The rows that are missing, and a link for a manager who has none that works."""
        academy = None
        if not Academy.objects.exists():
            academy = fill_form(NewAcademyForm, options, ACADEMY)
        form = self.manager_form(options)
        manager = make_academy(academy, form) or unopened_manager()
        if manager:
            link = urljoin(settings.SITE_ADDRESS, invite(manager, timezone.now()))
            self.stdout.write(f"The manager signs in as {manager.email} and chooses a password here, once, within")
            self.stdout.write(f"{settings.INVITATION_DAYS} days; type start again for another link:\n  {link}")
            self.stdout.write("After the password, the site asks them to add a second factor.")

    def manager_form(self, options: dict[str, Any]) -> FirstManagerForm | None:
        """The first manager, or one who was asked for knowingly; nobody where there is one."""
        if User.objects.filter(is_manager=True).exists() and not options["another_manager"]:
            email = options["manager_email"]
            if email and not User.objects.filter(is_manager=True, email__iexact=email).exists():
                raise CommandError(A_SECOND)
            return None
        form: FirstManagerForm = fill_form(FirstManagerForm, options, MANAGER)
        return form


def refuse_demo() -> None:
    """Go no further where somebody has the password that the demo prints for everybody."""
    names = [name for _, name in people.sign_ins()]
    if any(user.check_password(people.PASSWORD) for user in User.objects.filter(username__in=names)):
        raise CommandError(
            f"{settings.DATA_DIR} holds the demo, whose passwords everybody knows. Move it away, or set DATA_DIR or "
            "DATABASE_URL to a place of its own."
        )
