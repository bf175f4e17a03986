"""Django's SQLite, which can also be read while the disk is full."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db.backends.sqlite3 import base

from coachbook.outages import is_without_room

ALONE = "PRAGMA locking_mode=EXCLUSIVE"


class DatabaseWrapper(base.DatabaseWrapper):
    """A write-ahead log is read by way of a small file beside it, for which a full disk has no room.

    A connection that locks the database for itself alone does without that file: others wait until it is closed,
    at the end of the request (sqlite.org/wal.html, "Use of WAL Without Shared-Memory").
    """

    init_commands: list[str]
    transaction_mode: str | None

    def get_connection_params(self) -> dict[str, Any]:
        """Django's own; what a connection begins with is run here."""
        params: dict[str, Any] = super().get_connection_params()
        self.first_commands = self.init_commands
        self.init_commands = []
        return params

    def get_new_connection(self, conn_params: dict[str, Any]) -> sqlite3.Connection:
        """A connection like any other, or one that has the database alone."""
        try:
            return self.connect_and_run(conn_params, self.first_commands)
        except sqlite3.OperationalError as error:
            if not is_without_room(error):
                raise
        return self.connect_and_run(conn_params, [ALONE, *self.first_commands])

    def connect_and_run(self, conn_params: dict[str, Any], commands: list[str]) -> sqlite3.Connection:
        """A connection on which these commands have run; none is left open where one of them fails."""
        connection: sqlite3.Connection = super().get_new_connection(conn_params)
        try:
            for command in commands:
                connection.execute(command)
        except sqlite3.Error:
            connection.close()
            raise
        return connection

    @contextmanager
    def as_reader(self) -> Iterator[None]:
        """Begin transactions that only read: of one moment, while others write (sqlite.org/isolation.html)."""
        self.ensure_connection()
        mode, self.transaction_mode = self.transaction_mode, "DEFERRED"
        try:
            yield
        finally:
            self.transaction_mode = mode

    def overwrite_deleted(self) -> bool:
        """Write the file anew without what was deleted, and empty its write-ahead log; False while others read it."""
        self.ensure_connection()
        self.connection.execute("VACUUM")
        busy, _, _ = self.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
        return not busy
