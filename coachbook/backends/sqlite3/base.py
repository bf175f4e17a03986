"""Django's SQLite, which can also be read while the disk is full."""

import sqlite3
from typing import Any

from django.db.backends.sqlite3 import base

from coachbook.outages import is_without_room

ALONE = "PRAGMA locking_mode=EXCLUSIVE"


class DatabaseWrapper(base.DatabaseWrapper):
    """A write-ahead log is read by way of a small file beside it, for which a full disk has no room.

    A connection that locks the database for itself alone does without that file: others wait until it is closed,
    at the end of the request (sqlite.org/wal.html, "Use of WAL Without Shared-Memory").
    """

    def get_new_connection(self, conn_params: dict[str, Any]) -> Any:
        """A connection like any other, or one that has the database alone."""
        try:
            return super().get_new_connection(conn_params)
        except sqlite3.OperationalError as error:
            if not is_without_room(error):
                raise
        self.init_commands = [ALONE, *self.init_commands]
        return super().get_new_connection(conn_params)
