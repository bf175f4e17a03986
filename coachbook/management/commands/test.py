"""`manage.py test`: the suite under pytest, on SQLite or, with --postgres, on PostgreSQL; and its tools, as --mutants.

pytest replaces this process, so every word it knows passes through and the database is chosen before the
settings of that run are read.
"""

import os
import shutil
import subprocess
import sys

from django.core.management.base import BaseCommand, CommandParser

from coachbook.bootstrap import ROOT
from coachbook.system_packages import BROWSER, find_browser, find_missing

# Debian lets an account in over the socket without a password where a role of the same name exists.
SOCKET = "postgres:///coachbook"
MEND_POSTGRES = (
    "Set DATABASE_URL, or start one (Debian: apt install postgresql; sudo -u postgres createuser -d $USER)"
    " and type: python3 manage.py test --postgres"
)


class Command(BaseCommand):
    help = "Runs the tests with pytest; every other word is handed to it, for example: test -k putting -x"
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--sqlite", action="store_true", help="on SQLite, the default")
        parser.add_argument("--postgres", action="store_true", help="on DATABASE_URL or the local socket")
        parser.add_argument("--mutants", action="store_true", help="small faults put in, and those that no test sees")
        parser.add_argument("--fuzz", action="store_true", help="junk sent to every address, and what breaks")
        parser.add_argument("--kills", action="store_true", help="the served site killed while people write")
        parser.add_argument("--schedules", action="store_true", help="the outbox of a phone while everything fails")
        parser.add_argument("--supply", action="store_true", help="what is known against the packages and the code")
        parser.add_argument("words", nargs="*", help="options, files and test names for pytest")

    def run_from_argv(self, argv: list[str]) -> None:
        """Takes the words as they stand: argparse would refuse the options that belong to pytest."""
        words = [word for word in argv[2:] if word not in ("--sqlite", "--postgres")]
        if words in (["-h"], ["--help"]):
            self.print_help(argv[0], argv[1])
            return
        os.chdir(ROOT)
        tools = {f"--{tool}": tool for tool in ("mutants", "fuzz", "kills", "schedules", "supply")}
        for word in words:
            if tool := tools.get(word):  # the first one: --schedules has an option --kills
                words.remove(word)
                environment = database_environment("--postgres" in argv) if tool == "kills" else dict(os.environ)
                os.execve(sys.executable, [sys.executable, "-m", f"tests.{tool}", *words], environment)
                return  # in a test, where nothing replaces this process
        environment = run_environment("--postgres" in argv)
        os.execve(sys.executable, [sys.executable, "-m", "pytest", "-n", "auto", *words], environment)


def database_environment(on_postgres: bool) -> dict[str, str]:
    environment = dict(os.environ)
    given = environment.pop("DATABASE_URL", "")
    if on_postgres:
        environment["DATABASE_URL"] = answering_postgres(given)
    return environment


def run_environment(on_postgres: bool) -> dict[str, str]:
    environment = database_environment(on_postgres)
    # Empty, the browser tests are left out; what they lack was said at the start.
    environment["CHROMIUM"] = "" if find_missing(BROWSER) else find_browser() or ""
    return environment


def is_done(*words: str) -> bool:
    environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    done = subprocess.run(words, env=environment, stdin=subprocess.DEVNULL, capture_output=True)
    return done.returncode == 0


def answering_postgres(url: str) -> str:
    """A PostgreSQL address that answers: the one that is given, else this machine's socket."""
    given = url.startswith(("postgres://", "postgresql://"))
    url = url if given else SOCKET
    if not given and os.geteuid() == 0 and shutil.which("pg_ctlcluster") and why_silent(url):
        start_cluster()
    if failure := why_silent(url):
        sys.exit(f"No PostgreSQL answers ({failure}). {MEND_POSTGRES}")
    return url


def why_silent(url: str) -> str:
    """The first line of what the driver says, empty where a server answers."""
    import psycopg

    try:
        # The suite makes its own database; `postgres` is the one that every server has.
        psycopg.connect(url, dbname="postgres", connect_timeout=5).close()
    except psycopg.Error as error:
        return str(error).splitlines()[0]
    return ""


def start_cluster() -> None:
    """Starts Debian's first cluster and gives root a role that may make databases."""
    listed = subprocess.run(["pg_lsclusters", "--no-header"], capture_output=True, text=True).stdout.split()
    if listed:
        # systemd may be absent, in a container for one.
        is_done("pg_ctlcluster", "--skip-systemctl-redirect", *listed[:2], "start")
        is_done("su", "postgres", "-c", "createuser -d root")
