"""To whom the data belong: whatever root makes among them, the user of the site could not write any more."""

import os
import pwd
import sys

from django.conf import settings
from django.core.management.base import CommandError


def owner() -> str:
    """The name of the user to whom the data belong; a number where that user has no name."""
    uid = settings.DATA_DIR.stat().st_uid
    try:
        return pwd.getpwuid(uid).pw_name
    except KeyError:
        return str(uid)


def refuse_root() -> None:
    """Raise CommandError, with what to type, where root is about to write among the data of another user."""
    if os.geteuid() == 0 and settings.DATA_DIR.stat().st_uid:
        words = " ".join(sys.argv[1:])
        raise CommandError(f"The data belong to {owner()}: type sudo -u {owner()} python3 manage.py {words}")
