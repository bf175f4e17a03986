"""The pictures in the file of an academy: written beside the tables, and taken in with the rows that name them."""

import re
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage

from lessons.models import ReferenceStill, Still

NAME = re.compile(r"stills/[0-9a-f]{32}(-small)?\.jpg")
MOST_ON_A_PAGE = 200 * 10**6  # bytes of pictures in a file that a page answers with
START = b"\xff\xd8\xff"  # of a JPEG
LARGEST = 10**6  # bytes of one; what is kept of a picture has half a million at most


def stored_paths() -> Iterator[str]:
    """Where the files of every picture lie."""
    for model in (Still, ReferenceStill):
        for row in model._base_manager.order_by("pk").iterator():
            yield from (row.path, row.thumbnail_path)


def bytes_of_pictures() -> int:
    """Bytes of all pictures, as their rows say."""
    return sum(sum(model._base_manager.values_list("bytes", flat=True)) for model in (Still, ReferenceStill))


def write_pictures(packed: zipfile.ZipFile) -> None:
    """Write every picture that the storage has; they are packed already."""
    for path in stored_paths():
        try:
            with default_storage.open(path) as file:
                packed.writestr(path, file.read(), zipfile.ZIP_STORED)
        except FileNotFoundError:
            continue


def is_picture(name: str) -> bool:
    """Whether a name in a ZIP is that of a picture."""
    return bool(NAME.fullmatch(name))


@contextmanager
def pictures_taken_back() -> Iterator[list[str]]:
    """A list of pictures that are stored meanwhile; where anything fails they are taken away again."""
    stored: list[str] = []
    try:
        yield stored
    except BaseException:
        for path in stored:
            default_storage.delete(path)
        raise


def take_in_pictures(packed: zipfile.ZipFile, stored: list[str]) -> None:
    """Store the pictures that rows name, as far as the ZIP holds them."""
    there = set(packed.namelist())
    for path in stored_paths():
        if path in there and packed.getinfo(path).file_size <= LARGEST:
            content = packed.read(path)
            if content.startswith(START):  # nothing else is ever sent as a picture
                stored.append(default_storage.save(path, ContentFile(content)))


def missing_pictures() -> int:
    """How many files of pictures the storage lacks."""
    return sum(not default_storage.exists(path) for path in stored_paths())
