#!/usr/bin/env python3
"""The commands of the site; `python3 manage.py demo` is the one to begin with."""

import os
import sys

from coachbook import bootstrap


def main() -> None:
    bootstrap.start(sys.argv)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coachbook.settings")
    from django.core.management import execute_from_command_line

    try:
        execute_from_command_line(sys.argv)
    except Exception as error:
        from coachbook.outages import explain

        reason = explain(error)
        if not reason:
            raise
        sys.exit(reason)


if __name__ == "__main__":
    main()
