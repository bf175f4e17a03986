"""Restoring a backup into an empty place, and proving that what stands there is what was backed up."""

from pathlib import Path

from django.apps import apps
from django.apps.registry import Apps
from django.conf import settings
from django.core.files.storage import default_storage
from django.core.management.base import CommandError
from django.db import connection

from coachbook.operations.backups.databases import is_empty, restore_database
from coachbook.operations.backups.make import verify_backup
from coachbook.operations.backups.manifest import SORTED_COLUMNS, Manifest
from coachbook.operations.backups.media import changed_media, media_names, restored_media
from coachbook.operations.backups.rows import Tables, count_tables, differences, models_as_migrated
from coachbook.operations.health import known_migrations


def restore_backup(folder: Path) -> Manifest:
    """Restore a backup, and compare every row; returns its manifest.

    Raises CommandError before anything is written, where the backup is not whole or of a newer version, or the place
    is not empty.
    """
    manifest = verify_backup(folder)
    refuse_other(manifest)
    refuse_full()
    with restored_media(folder):
        restore_database(folder)
    compare(manifest)
    return manifest


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
    if next(media_names(default_storage), None):
        place = "The store of MEDIA_STORE" if settings.MEDIA_STORE else settings.MEDIA_ROOT
        raise CommandError(f"{place} is not empty. A backup is restored into an empty place only.")


def compare(manifest: Manifest) -> None:
    """Compare what is stored with what was backed up: the tables as they were then, one by one, and the media."""
    stored, expected = count_tables("default", models_of(manifest)), manifest["tables"]
    if manifest["format_version"] < SORTED_COLUMNS:
        stored, expected = only_numbers(stored), only_numbers(expected)
    if different := differences(stored, expected) + changed_media(manifest):
        raise CommandError(f"What was restored is not what was backed up: {', '.join(different)}.")


def models_of(manifest: Manifest) -> Apps:
    """The models that a backup was made with: those of today, or of the migrations that it brought along."""
    return apps if is_of_this_version(manifest) else models_as_migrated("default")


def is_of_this_version(manifest: Manifest) -> bool:
    """Whether a backup has every migration that there is."""
    return {tuple(migration) for migration in manifest["migrations"]} == known_migrations()


def only_numbers(tables: Tables) -> Tables:
    """Of each table the number of its rows alone."""
    return {name: {"rows": table["rows"]} for name, table in tables.items()}
