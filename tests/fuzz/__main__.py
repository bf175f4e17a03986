"""`manage.py test --fuzz`: sends junk to every address of the demo as everybody, and lists what broke."""

import argparse
import logging
import os
import sys
import tempfile
import time
import warnings


def main() -> int:
    """Fill a database of its own, send, tell; 0 where nothing broke."""
    options = read_options()
    with tempfile.TemporaryDirectory(prefix="fuzz-") as folder:
        prepare(options.folder or folder)
        began = time.monotonic()
        tally = send(options)
        seconds = time.monotonic() - began
    from tests.fuzz.shots import told

    print(*told(tally), sep="\n")
    broken = sum(failure.count for failure in tally.failures.values())
    print(f"{sum(tally.statuses.values())} requests in {seconds:.0f} s: {broken} server errors")
    return 1 if broken else 0


def read_options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="manage.py test --fuzz", description=__doc__)
    parser.add_argument("--seed", type=int, default=1, help="which requests")
    parser.add_argument("--requests", type=int, default=2000, help="how many")
    parser.add_argument("--only", default="", metavar="NAME", help="only addresses whose name starts like this")
    parser.add_argument("--folder", default="", help="where the invented academy is kept for the next time")
    return parser.parse_args()


def prepare(folder: str) -> None:
    """The invented academy in a folder of its own; nothing is mailed, and nothing but the outcome is printed."""
    os.environ |= {"DATA_DIR": folder, "DJANGO_SETTINGS_MODULE": "coachbook.settings", "OPENBLAS_NUM_THREADS": "1"}
    for name in ("DATABASE_URL", "ALLOWED_HOSTS"):
        os.environ.pop(name, None)
    import django
    from django.conf import settings
    from django.core.management import call_command

    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    settings.CACHES["default"] = {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}
    settings.ALLOWED_HOSTS = ["testserver"]
    django.setup()
    from django.test.utils import setup_test_environment

    setup_test_environment()
    logging.disable(logging.CRITICAL)
    warnings.simplefilter("ignore")
    with open(os.devnull, "w") as nowhere:
        call_command("demo", "--no-serve", stdout=nowhere)


def send(options: argparse.Namespace) -> "object":
    from django.test import Client

    from coachbook.accounts.models import Care, User
    from coachbook.demo import people
    from tests.fuzz.shots import shoot

    accounts = {username: User.objects.get(username=username) for _, username in people.sign_ins()}
    if cover := Care.objects.filter(role=Care.Role.COVER).select_related("coach__user").last():
        accounts["cover"] = cover.coach.user
    clients = {}
    for name, user in accounts.items():
        clients[name] = Client(raise_request_exception=False)
        clients[name].force_login(user)
    clients["anonymous"] = Client(raise_request_exception=False)
    return shoot(clients, options.requests, options.seed, options.only)


if __name__ == "__main__":
    sys.exit(main())
