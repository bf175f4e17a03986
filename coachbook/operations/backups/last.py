"""The backups there are, by their names, and what a manager reads where the last one is too old."""

import re
from datetime import UTC, datetime, timedelta
from pathlib import Path

from django.conf import settings

NAME = "coachbook-%Y-%m-%dT%H%M%SZ"
PATTERN = re.compile(r"coachbook-\d{4}-\d\d-\d\dT\d{6}Z")
TOO_OLD = timedelta(days=2)


def name_at(at: datetime) -> str:
    """The name of a backup that is made at a moment."""
    return at.astimezone(UTC).strftime(NAME)


def stored_backups() -> list[tuple[datetime, Path]]:
    """Every backup with when it was made, the oldest first; only whole ones have such a name."""
    try:
        folders = [path for path in settings.BACKUP_DIR.iterdir() if PATTERN.fullmatch(path.name)]
    except OSError:  # none was made yet, or the disk of the backups is away
        return []
    made = [(datetime.strptime(path.name, NAME).replace(tzinfo=UTC), path) for path in folders]
    return sorted(made)


def last_backup() -> datetime | None:
    """When the last good backup was made."""
    backups = stored_backups()
    return backups[-1][0] if backups else None


def is_overdue(at: datetime) -> bool:
    """Whether the last good backup is older than two days, or there never was one."""
    last = last_backup()
    return last is None or at - last > TOO_OLD
