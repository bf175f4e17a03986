"""`manage.py test --kills`: kills the served site while people write, and lists what was lost, doubled or damaged."""

import argparse
import os
import sys
import tempfile
import time
from pathlib import Path
from urllib.parse import urlsplit


def main() -> int:
    """Make an academy of its own, serve it, kill it again and again, tell; 0 where nothing is wrong."""
    options = read_options()
    began = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="kills-") as folder:
        set_up(folder)
        from tests.kills.academy import make_academy
        from tests.kills.lives import live_and_die
        from tests.kills.server import Server, free_port

        academy = make_academy()
        server = Server(free_port(), options.workers, Path(folder) / "server.log")
        tally = live_and_die(academy, server, options.kills, options.seed)
    print(*tally.told(), sep="\n")
    print(f"seed {options.seed}, {time.monotonic() - began:.0f} s")
    return 1 if tally.problems else 0


def read_options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="manage.py test --kills", description=__doc__)
    parser.add_argument("--seed", type=int, default=1, help="which moments")
    parser.add_argument("--kills", type=int, default=200, help="how many")
    parser.add_argument("--workers", type=int, default=1, help="processes of the server; SQLite may want one")
    return parser.parse_args()


def set_up(folder: str) -> None:
    """Data of its own: in a folder, or in a database of PostgreSQL beside the one that DATABASE_URL names."""
    os.environ |= {"DATA_DIR": folder, "DJANGO_SETTINGS_MODULE": "coachbook.settings", "OPENBLAS_NUM_THREADS": "1"}
    os.environ.pop("ALLOWED_HOSTS", None)
    if url := os.environ.get("DATABASE_URL"):
        os.environ["DATABASE_URL"] = make_database(url)
    import django
    from django.conf import settings

    from tests.outage_academy import WithoutMigrations

    settings.MIGRATION_MODULES = WithoutMigrations()
    django.setup()


def make_database(url: str) -> str:
    """The address of a new, empty database; one that an earlier run left goes."""
    import psycopg

    name = f"{urlsplit(url).path.strip('/')}_kills"
    with psycopg.connect(url, dbname="postgres", autocommit=True) as server:
        server.execute(f'DROP DATABASE IF EXISTS "{name}" WITH (FORCE)')
        server.execute(f'CREATE DATABASE "{name}"')
    return urlsplit(url)._replace(path=f"/{name}").geturl()


if __name__ == "__main__":
    sys.exit(main())
