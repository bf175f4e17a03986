"""The manifest of a backup, and whether a folder still holds what its manifest says."""

import hashlib
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError

MANIFEST, MEDIA = "manifest.json", "media"
FORMAT, FORMAT_VERSION = "coachbook backup", 2
SORTED_COLUMNS = 2  # since this version of the format checksums take the columns of a table by name
Manifest = dict[str, Any]


def write_manifest(folder: Path, values: Manifest) -> None:
    """Write what a backup holds, with the size and checksum of every file."""
    files = {name: describe(folder / name) for name in file_names(folder)}
    text = json.dumps({"format": FORMAT, "format_version": FORMAT_VERSION, **values, "files": files}, indent=1)
    (folder / MANIFEST).write_text(text, encoding="utf-8")


def read_manifest(folder: Path) -> Manifest:
    """The manifest of a backup. Raises CommandError where there is none that can be read."""
    try:
        manifest = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        raise CommandError(f"{folder} is no whole backup: its {MANIFEST} cannot be read.") from None
    if not isinstance(manifest, dict) or manifest.get("format") != FORMAT:
        raise CommandError(f"{folder} is no backup of coachbook.")
    if manifest["format_version"] > FORMAT_VERSION:
        raise CommandError(f"{folder} was made by a newer version of coachbook, {manifest['program']}.")
    return manifest


def verify_files(folder: Path) -> Manifest:
    """The manifest, if every file is there as it says. Raises CommandError with what is wrong."""
    manifest = read_manifest(folder)
    expected: dict[str, Any] = manifest["files"]
    names = set(file_names(folder))
    wrong = [f"missing: {name}" for name in sorted(expected.keys() - names)]
    wrong += [f"not in its manifest: {name}" for name in sorted(names - expected.keys())]
    wrong += [
        f"changed: {name}" for name in sorted(expected.keys() & names) if describe(folder / name) != expected[name]
    ]
    if wrong:
        raise CommandError(f"{folder} is no whole backup:\n  " + "\n  ".join(wrong))
    return manifest


def file_names(folder: Path) -> Iterator[str]:
    """Every file of a backup but its manifest."""
    files = (path for path in sorted(folder.rglob("*")) if path.is_file())
    return (path.relative_to(folder).as_posix() for path in files if path != folder / MANIFEST)


def describe(path: Path) -> dict[str, Any]:
    """The size and the checksum of a file."""
    with path.open("rb") as file:
        return {"bytes": path.stat().st_size, "sha256": checksum(file)}


def checksum(file: Any) -> str:
    """The SHA-256 of a file that is open for reading."""
    return hashlib.file_digest(file, "sha256").hexdigest()
