"""Making a backup: written under a name that nobody takes for one, and renamed once it is whole."""

import fcntl
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings
from django.core.management.base import CommandError

from coachbook import VERSION
from coachbook.operations.backups.databases import check_database, copy_database
from coachbook.operations.backups.last import name_at, stored_backups
from coachbook.operations.backups.manifest import Manifest, verify_files, write_manifest
from coachbook.operations.backups.media import back_up_media

UNFINISHED = ".unfinished-"


def make_backup(at: datetime) -> Path:
    """Write a backup of this moment into BACKUP_DIR, verify it and only then give it its name; returns its folder."""
    settings.BACKUP_DIR.mkdir(mode=0o700, parents=True, exist_ok=True)
    with alone(settings.BACKUP_DIR):
        remove_unfinished()
        unfinished, folder = (settings.BACKUP_DIR / (before + name_at(at)) for before in (UNFINISHED, ""))
        if folder.exists():
            raise CommandError(f"{folder} is there already.")
        try:
            fill(unfinished, at)
            verify_backup(unfinished)
            os.sync()
            unfinished.rename(folder)
        finally:
            shutil.rmtree(unfinished, ignore_errors=True)
    return folder


@contextmanager
def alone(folder: Path) -> Iterator[None]:
    """Let one backup be made at a time. Raises CommandError where another one is."""
    with (folder / ".lock").open("w") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise CommandError("Another backup is being made.") from None
        yield


def remove_unfinished() -> None:
    """Remove what a backup left behind that was killed."""
    for path in settings.BACKUP_DIR.glob(f"{UNFINISHED}*"):
        shutil.rmtree(path)


def fill(folder: Path, at: datetime) -> None:
    """The database first: a row that is in it has its file already."""
    folder.mkdir(mode=0o700)
    stored = copy_database(folder)
    back_up_media(folder)
    write_manifest(folder, {"program": VERSION, "made_at": at.isoformat(), **stored})


def verify_backup(folder: Path) -> Manifest:
    """The manifest of a whole backup. Raises CommandError with what is wrong."""
    manifest = verify_files(folder)
    check_database(folder, manifest["database"])
    return manifest


def remove_older(at: datetime, days: int) -> list[Path]:
    """Remove the backups that are older than so many days, but never the newest."""
    old = [folder for made, folder in stored_backups()[:-1] if at - made > timedelta(days=days)]
    for folder in old:
        shutil.rmtree(folder)
    return old
