"""Restoring a backup into an empty place, and proving that what stands there is what was backed up."""

import shutil
from pathlib import Path

from django.conf import settings
from django.core.management.base import CommandError
from django.db import connection

from coachbook.operations.backups.databases import is_empty, restore_database
from coachbook.operations.backups.make import verify_backup
from coachbook.operations.backups.manifest import MEDIA, Manifest
from coachbook.operations.backups.rows import count_tables, differences
from coachbook.operations.health import known_migrations


def restore_backup(folder: Path) -> bool:
    """Restore a backup; returns whether it is of this very version, so that every row was compared.

    Raises CommandError before anything is written, where the backup is not whole or of a newer version, or the place
    is not empty.
    """
    manifest = verify_backup(folder)
    refuse_other(manifest)
    refuse_full()
    media = settings.MEDIA_ROOT.with_name(f"{settings.MEDIA_ROOT.name}.unfinished")
    try:
        if (folder / MEDIA).exists():
            shutil.copytree(folder / MEDIA, media, dirs_exist_ok=True)
        restore_database(folder)
        if media.exists():
            media.replace(settings.MEDIA_ROOT)
    finally:
        shutil.rmtree(media, ignore_errors=True)
    return compare(manifest)


def refuse_other(manifest: Manifest) -> None:
    """Refuse what this program or this database cannot read."""
    unknown = {tuple(migration) for migration in manifest["migrations"]} - known_migrations()
    if unknown:
        raise CommandError(
            f"This backup was made by a newer version of coachbook, {manifest['program']}: install that one and "
            "restore it there."
        )
    if manifest["database"] != connection.vendor:
        raise CommandError(f"This is a backup of {manifest['database']}, and DATABASE_URL names another database.")


def refuse_full() -> None:
    """Refuse a place that holds anything already."""
    if not is_empty():
        raise CommandError("The database is not empty. A backup is restored into an empty one only.")
    if settings.MEDIA_ROOT.exists() and any(settings.MEDIA_ROOT.iterdir()):
        raise CommandError(f"{settings.MEDIA_ROOT} is not empty. A backup is restored into an empty place only.")


def compare(manifest: Manifest) -> bool:
    """Compare every row with what was backed up; one of an earlier version has other columns and is taken as it is."""
    if {tuple(migration) for migration in manifest["migrations"]} != known_migrations():
        return False
    if different := differences(count_tables("default"), manifest["tables"]):
        raise CommandError(f"What was restored is not what was backed up: {', '.join(different)}.")
    return True
