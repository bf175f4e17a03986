"""Media of a backup: copied by name between the storage of the site, be it folder or bucket, and the backup."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.core.files.storage import FileSystemStorage, Storage, default_storage
from django.core.management.base import CommandError

from coachbook.operations.backups.manifest import MEDIA, Manifest, checksum


def media_names(storage: Storage, folder: str = "") -> Iterator[str]:
    """The name of every file, folder by folder; none where the folder of the media has not been made."""
    try:
        folders, files = storage.listdir(folder)
    except FileNotFoundError:
        return
    yield from (f"{folder}{name}" for name in sorted(files))
    for name in sorted(folders):
        yield from media_names(storage, f"{folder}{name}/")


def copy_media(source: Storage, target: Storage) -> Iterator[str]:
    """Copy every file, and give the name of each once it is there. Raises CommandError where the name is taken."""
    for name in media_names(source):
        with source.open(name) as file:
            saved = target.save(name, file)
        yield saved
        if saved != name:
            raise CommandError(f"{name} could not be copied under its name: there is one already.")


def back_up_media(folder: Path) -> None:
    """Copy the media of the site into the folder of a backup."""
    for _ in copy_media(default_storage, kept_media(folder)):
        pass


@contextmanager
def restored_media(folder: Path) -> Iterator[None]:
    """Copy the media of a backup into the storage of the site; what fails meanwhile takes them away again."""
    restored = []
    try:
        for name in copy_media(kept_media(folder), default_storage):
            restored.append(name)
        yield
    except BaseException:
        for name in restored:
            default_storage.delete(name)
        raise


def changed_media(manifest: Manifest) -> list[str]:
    """The files whose content is not that of the manifest, and those that only it or only the site has."""
    before = f"{MEDIA}/"
    expected = {name: said["sha256"] for name, said in manifest["files"].items() if name.startswith(before)}
    stored = {f"{before}{name}": checksum_of(default_storage, name) for name in media_names(default_storage)}
    return sorted(name for name in expected.keys() | stored.keys() if expected.get(name) != stored.get(name))


def checksum_of(storage: Storage, name: str) -> str:
    """The checksum of a file, read from where it lies."""
    with storage.open(name) as file:
        return checksum(file)


def kept_media(folder: Path) -> FileSystemStorage:
    """The media in the folder of a backup, readable by its owner alone; no name leads out of it."""
    return FileSystemStorage(folder / MEDIA, file_permissions_mode=0o600, directory_permissions_mode=0o700)
