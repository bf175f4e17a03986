"""A backup is made while people write, is whole or is none, and what is restored from it is what was backed up."""

import json
import os
import shutil
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import connection, transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from django.test import Client
from django.utils import timezone

from coachbook.accounts.models import User
from coachbook.operations.backups.last import name_at
from coachbook.operations.backups.make import remove_older
from coachbook.rights.erasure.carry_out import ERASED_KEYS
from tests.make import make_user, this_time

Clients = Callable[[str], Client]
ODD = bytes(range(256)) * 40


@pytest.fixture
def folders(settings: Any, tmp_path: Path) -> Path:
    """Folders of their own for the media and the backups."""
    settings.BACKUP_DIR, settings.MEDIA_ROOT = tmp_path / "backups", tmp_path / "media"
    (tmp_path / "media/a").mkdir(parents=True)
    (tmp_path / "media/a/odd.bin").write_bytes(ODD)
    return tmp_path


@pytest.fixture
def stored(transactional_db: None, monkeypatch: pytest.MonkeyPatch) -> None:
    """A database that is really written, which a second connection may read, too."""
    ensure_connection = BaseDatabaseWrapper.ensure_connection

    def connect(self: BaseDatabaseWrapper) -> None:
        if self.alias == "second" and self.connection is None:
            self.connect()
        else:
            ensure_connection(self)

    monkeypatch.setattr(BaseDatabaseWrapper, "ensure_connection", connect)


def run(*words: Any, **options: Any) -> str:
    said = StringIO()
    call_command(*words, stdout=said, **options)
    return said.getvalue()


def backups(folder: Path) -> list[Path]:
    return sorted(folder.glob("backups/coachbook-*"))


@contextmanager
def empty_place(settings: Any, folder: Path) -> Iterator[None]:
    """Another database, without a table, and no media."""
    name = connection.settings_dict["NAME"]
    other = str(folder / "restored.sqlite3") if connection.vendor == "sqlite" else f"{name}_restored"
    if connection.vendor == "postgresql":
        administer(f'DROP DATABASE IF EXISTS "{other}"', f'CREATE DATABASE "{other}"')
    connection.close()
    connection.settings_dict["NAME"], settings.MEDIA_ROOT = other, folder / "restored_media"
    try:
        yield
    finally:
        connection.close()
        connection.settings_dict["NAME"] = name
        if connection.vendor == "postgresql":
            administer(f'DROP DATABASE "{other}"')


def administer(*statements: str) -> None:
    with connection._nodb_cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)


def write_until(stop: threading.Event, written: list[str]) -> None:
    """Two people at once, again and again: both are stored, or neither."""
    while not stop.is_set():
        number = len(written)
        with transaction.atomic():
            make_user(f"Writer {number}")
            make_user(f"Reader {number}")
        written.append(f"Writer {number}")
    connection.close()


@pytest.mark.both_databases
def test_what_is_restored_is_what_was_backed_up_while_people_wrote(stored: None, folders: Path, settings: Any) -> None:
    """Row for row, since restore compares every table with the manifest; and byte for byte."""
    stop, written = threading.Event(), list[str]()
    writer = threading.Thread(target=write_until, args=(stop, written))
    writer.start()
    try:
        while len(written) < 3:
            stop.wait(0.01)
        before = len(written)
        said = run("backup")
    finally:
        stop.set()
        writer.join()
    [folder] = backups(folders)
    assert "is whole" in said and "1 files" in said and folder.stat().st_mode & 0o777 == 0o700
    manifest = json.loads((folder / "manifest.json").read_text())
    with empty_place(settings, folders):
        assert "every table holds the very rows" in run("restore", folder)
        names = list(User.objects.order_by("pk").values_list("name", flat=True))
        assert (settings.MEDIA_ROOT / "a/odd.bin").read_bytes() == ODD
        with pytest.raises(CommandError, match="not empty"):
            run("restore", folder)
        make_user("Somebody new")  # the numbers of new rows go on behind those that were restored
    pairs = [f"{who} {number}" for number in range(len(names) // 2) for who in ("Writer", "Reader")]
    assert names == pairs and before <= len(names) // 2 <= len(written)
    assert manifest["tables"]["accounts_user"]["rows"] == len(names)


@pytest.fixture
def backup(stored: None, folders: Path) -> Path:
    make_user("Odile Bramblewing")
    run("backup")
    [folder] = backups(folders)
    return folder


def database_of(folder: Path) -> Path:
    [path] = folder.glob("database.*")
    return path


def truncate(folder: Path) -> None:
    path = database_of(folder)
    path.write_bytes(path.read_bytes()[:-1000])


def truncate_manifest(folder: Path) -> None:
    path = folder / "manifest.json"
    path.write_text(path.read_text()[:-5])


def change(folder: Path, **values: Any) -> None:
    path = folder / "manifest.json"
    path.write_text(json.dumps({**json.loads(path.read_text()), **values}))


def of_a_newer_program(folder: Path) -> None:
    change(folder, migrations=[["accounts", "9999_not_known_here"]], program="7.5")


def of_a_newer_format(folder: Path) -> None:
    change(folder, format_version=3, program="7.5")


WRONG: list[tuple[Callable[[Path], object], str]] = [
    (truncate, "changed: database"),
    (lambda folder: database_of(folder).unlink(), "missing: database"),
    (truncate_manifest, "manifest.json cannot be read"),
    (lambda folder: (folder / "media/a/odd.bin").write_bytes(ODD[::-1]), "changed: media/a/odd.bin"),
    (lambda folder: (folder / "media/b").touch(), "not in its manifest: media/b"),
    (of_a_newer_program, r"newer version of coachbook, 7\.5"),
    (of_a_newer_format, r"newer version of coachbook, 7\.5"),
]


def test_what_is_not_whole_or_too_new_is_refused_and_nothing_is_restored(
    backup: Path, folders: Path, settings: Any
) -> None:

    with empty_place(settings, folders):
        for number, (spoil, message) in enumerate(WRONG):
            spoiled = shutil.copytree(backup, folders / str(number))
            spoil(spoiled)
            with pytest.raises(CommandError, match=message):
                run("restore", spoiled)
            if spoil is not of_a_newer_program:  # whole in itself
                with pytest.raises(CommandError, match=message):
                    run("backup", verify=spoiled)
        assert connection.introspection.table_names() == [] and not settings.MEDIA_ROOT.exists()


def test_a_backup_that_fails_leaves_nothing_that_looks_like_one(
    stored: None, folders: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*args: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("coachbook.operations.backups.make.write_manifest", fail)
    with pytest.raises(OSError, match="No space"):
        run("backup")
    assert [path.name for path in folders.glob("backups/*") if path.name != ".lock"] == []


def test_old_backups_are_removed_and_the_newest_never(stored: None, folders: Path) -> None:
    at = timezone.now()
    kept = [name_at(at - timedelta(days=days)) for days in (40, 10)]
    for name in kept:
        (folders / "backups" / name).mkdir(parents=True)
    assert f"{kept[0]} was older than 30 days" in run("backup", keep=30)
    [ten_days_old, newest] = backups(folders)
    assert ten_days_old.name == kept[1]
    assert remove_older(at + timedelta(days=400), 30) == [ten_days_old] and backups(folders) == [newest]


def test_what_is_too_old_is_removed_although_the_backup_of_the_night_fails(
    stored: None, folders: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a full disk it makes room, and whoever was erased is in no backup after the day that was stated."""

    def fail(*args: Any) -> None:
        raise OSError(28, "No space left on device")

    names = [name_at(this_time(days_ago=days)) for days in (40, 1)]
    for name in names:
        (folders / "backups" / name).mkdir(parents=True)
    monkeypatch.setattr("coachbook.operations.backups.make.write_manifest", fail)
    with pytest.raises(OSError, match="No space"):
        run("backup", keep=30)
    assert [path.name for path in backups(folders)] == names[1:]


@pytest.mark.skipif(os.geteuid() != 0, reason="only root is refused")
@pytest.mark.parametrize("words", [("backup",), ("restore", "/there"), ("start",)], ids=lambda words: words[0])
def test_root_leaves_no_file_among_the_data_of_the_user_of_the_site(
    words: tuple[str, ...], settings: Any, tmp_path: Path
) -> None:
    """The next backup of the night could not be written."""
    settings.DATA_DIR, settings.BACKUP_DIR = tmp_path, tmp_path / "backups"
    os.chown(tmp_path, 65534, 65534)
    with pytest.raises(CommandError, match=r"belong to nobody: type sudo -u nobody python3 manage\.py"):
        run(*words)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.one_database
def test_a_manager_reads_when_the_last_good_backup_is_too_old(as_: Clients, folders: Path, settings: Any) -> None:
    def words() -> str:
        return as_("manager").get("/caseload/").content.decode()

    assert "backup" not in words(), "the demo needs none"
    settings.PRODUCTION = True
    assert "No backup has been made yet" in words()
    kept = folders / "backups"
    kept.mkdir()
    (kept / ".unfinished-coachbook-2026-06-01T031000Z").mkdir()
    assert "No backup has been made yet" in words()
    (kept / name_at(datetime(2026, 6, 1, 3, 10, tzinfo=UTC))).mkdir()
    assert "The last backup was made on 1 June 2026, more than two days ago" in words()
    (kept / name_at(this_time(days_ago=1))).mkdir()
    assert "backup" not in words()


# --- A backup of an earlier version -------------------------------------------------------------

# Made by `backup` of the version before erasures: ten migrations fewer, and checksums of another kind.
EARLIER = Path(__file__).parent / "earlier_backup.zip"
QUESTIONS = """
from django.core.management import call_command
from django.test import Client
from coachbook.accounts.models import Student, User
from coachbook.operations.backups.rows import count_tables, models_as_migrated
call_command("restore", "{folder}")
call_command("migrate", verbosity=0)
print(count_tables("default") == count_tables("default", models_as_migrated("default")))
own = "/students/%s/" % Student.objects.get(name="Alder Quimble").key
for name, address in {pages}:
    client = Client(SERVER_NAME="localhost")
    client.force_login(User.objects.get(name=name))
    answer = client.get(address.replace("own/", own))
    text = answer.content.decode()
    print(address, answer.status_code, "Hands" in text, "See you on Saturday." in text)
"""
PAGES = [
    *(("Ida Fernkettle", f"own/{page}") for page in ("", "brief/", "progress/", "tests/", "search/?q=calm")),
    *(("Alder Quimble", f"own/{page}") for page in ("", "practice/", "messages/")),
    *(("Maud Plumsilk", address) for address in ("/students/", "own/messages/")),
    *(("Odile Bramblewing", address) for address in ("/caseload/", "/people/", "own/")),
]


@pytest.mark.one_database
def test_a_backup_of_an_earlier_version_is_restored_compared_and_brought_up_to_this_one(tmp_path: Path) -> None:
    """With real migrations, in a process of its own; an erasure noted beside the backup is noted for `start`."""
    folder, data, erased = tmp_path / "kept/coachbook", tmp_path / "data", "1b4e28ba-2fa1-4d2b-a3f5-0ef19a7e33b1"
    shutil.unpack_archive(EARLIER, folder)
    (folder.parent / ERASED_KEYS).write_text(f"{erased}\n")
    words = [sys.executable, "manage.py", "shell", "--no-imports", "-c", QUESTIONS.format(folder=folder, pages=PAGES)]
    kept = {"PATH": os.environ["PATH"], "DATA_DIR": str(data)}
    done = subprocess.run(words, env=kept, cwd=Path(__file__).parents[1], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    first, second, third, same, *pages = done.stdout.splitlines()
    assert first == "Restored: every table has as many rows as were backed up."
    assert "earlier version" in second and "start" in third and same == "True"
    assert {page.split()[1] for page in pages} == {"200"} and len(pages) == len(PAGES), pages
    assert {"own/ 200 True False", "own/brief/ 200 True False", "own/messages/ 200 False True"} <= set(pages)
    assert (data / ERASED_KEYS).read_text().split() == [erased]


def test_rows_that_are_not_those_of_the_manifest_are_told(backup: Path, folders: Path, settings: Any) -> None:
    tables = json.loads((backup / "manifest.json").read_text())["tables"]
    tables["accounts_user"]["sha256"] = "0" * 64
    change(backup, tables=tables)
    with empty_place(settings, folders), pytest.raises(CommandError, match="not what was backed up: accounts_user"):
        run("restore", backup)
