"""What keeps the site from reading or saving for a while, recognised by the error: disk or database.

The codes are those of sqlite.org/rescode.html and of PostgreSQL's documentation, appendix A.
"""

import errno
import os
import sqlite3
import sys
import tempfile
from collections.abc import Iterator
from typing import NamedTuple

import psycopg
from django.conf import settings
from django.db import connection

PROBE_SIZE = 256 * 1024  # bytes: a few saves


class Outage(NamedTuple):
    """The status of the answer, and the cause in words that end a sentence."""

    status: int
    cause: str


FULL = Outage(507, "the server’s disk is full")
READ_ONLY = Outage(503, "the server’s disk cannot be written")
FAILING = Outage(503, "the server’s disk does not answer")
BUSY = Outage(503, "too many people are saving at once")
STORE_AWAY = Outage(503, "the store of pictures does not answer")
AWAY = Outage(503, "the database does not answer")
COUNTS_AWAY = Outage(503, "the server that counts tries does not answer")

BY_ERRNO = {
    errno.ENOSPC: FULL,
    errno.EDQUOT: FULL,
    errno.EROFS: READ_ONLY,
    errno.EACCES: READ_ONLY,
    errno.EIO: FAILING,
    errno.EHOSTUNREACH: STORE_AWAY,  # what the object store says of itself
}
BY_SQLITE_CODE = {
    sqlite3.SQLITE_FULL: FULL,
    sqlite3.SQLITE_READONLY: READ_ONLY,
    sqlite3.SQLITE_CANTOPEN: READ_ONLY,
    sqlite3.SQLITE_IOERR: FAILING,
    sqlite3.SQLITE_BUSY: BUSY,
}
BY_SQLSTATE = {
    "53100": FULL,  # disk_full
    "53300": BUSY,  # too_many_connections
    "25006": READ_ONLY,  # read_only_sql_transaction
    "58030": FAILING,  # io_error
    "57P01": AWAY,  # admin_shutdown
    "57P02": AWAY,  # crash_shutdown
    "57P03": AWAY,  # cannot_connect_now
}
# The file that a write-ahead log is read by cannot be made or grown.
NO_SHARED_MEMORY = {sqlite3.SQLITE_IOERR_SHMOPEN, sqlite3.SQLITE_IOERR_SHMSIZE, sqlite3.SQLITE_IOERR_SHMMAP}


def outage_of(error: BaseException | None) -> Outage | None:
    """The outage behind an error; None where the program is at fault."""
    return next((found for each in causes(error) if (found := outage_named_by(each))), None)


def causes(error: BaseException | None) -> Iterator[BaseException]:
    """An error and those that it was raised from."""
    while error is not None:
        yield error
        error = error.__cause__


def outage_named_by(error: BaseException) -> Outage | None:
    """The outage that one error names itself."""
    if isinstance(error, OSError):
        return BY_ERRNO.get(error.errno or 0)
    if isinstance(error, sqlite3.Error):
        return BY_SQLITE_CODE.get(code_of(error) & 0xFF)  # the low byte is the kind, the others say more
    if isinstance(error, psycopg.Error):
        never_answered = error.sqlstate is None and isinstance(error, psycopg.OperationalError)
        state = error.sqlstate or ""
        return AWAY if never_answered or state.startswith("08") else BY_SQLSTATE.get(state)
    return COUNTS_AWAY if is_of_redis(error) else None


def is_of_redis(error: BaseException) -> bool:
    """Whether the server that CACHE_URL names is away; its driver is there only where one is named."""
    driver = sys.modules.get("redis")
    return driver is not None and isinstance(error, driver.ConnectionError | driver.TimeoutError)


def code_of(error: sqlite3.Error) -> int:
    """SQLite's code of an error; 0 for those of Python's own."""
    return getattr(error, "sqlite_errorcode", 0)


def is_without_room(error: sqlite3.Error) -> bool:
    """Whether SQLite had no room for the file by which it reads a write-ahead log."""
    return code_of(error) == sqlite3.SQLITE_FULL or code_of(error) in NO_SHARED_MEMORY


# --- At the start of a command ------------------------------------------------------------------


def probe() -> None:
    """Raise what will keep a server from saving: it writes a little into the data folder and asks for the database."""
    with tempfile.TemporaryFile(dir=settings.DATA_DIR, buffering=0) as file:
        file.write(bytes(PROBE_SIZE))
    connection.ensure_connection()


def explain(error: Exception) -> str:
    """One line for the person at the terminal; empty where no outage is behind the error."""
    outage = outage_of(error)
    if outage is None:
        return ""
    where = "" if outage is AWAY else f" (DATA_DIR is {os.environ.get('DATA_DIR', '.data')})"
    return f"{outage.cause[0].upper()}{outage.cause[1:]}{where}: {str(error).splitlines()[0]}"
