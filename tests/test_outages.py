"""A disk that is full or cannot be written, and a database that is away: pages are read, and a save says what is wrong.

The disks are real: small file systems in memory, which only root may mount. The server is a process of its own.
"""

import errno
import html
import http.client
import json
import os
import re
import shutil
import socket
import sqlite3
import subprocess
import sys
import time
import uuid
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import NamedTuple
from urllib.parse import urlencode

import psycopg
import pytest
from django import db
from django.conf import settings
from django.test import Client

from coachbook.accounts.models import Academy
from coachbook.outages import outage_of
from lessons.models import Lesson
from tests.conftest import Cast
from tests.make import PASSWORD

Clients = Callable[[str], Client]
Typed = dict[str, str] | list[tuple[str, str]]
ROOT = Path(settings.BASE_DIR)
TOKEN = "c" * 32
TYPED = "Calm rhythm. " * 300  # as much as a field holds
WINDY = "Windy, and the ball ran on. " * 10
JUNIORS = {"name": "Saturday juniors", "place": "The big green"}
READ = {
    "coach": ("diary/", "students/", "{student}", "{student}brief/", "{student}progress/", "{student}lessons/{new}/"),
    "manager": ("caseload/", "caseload/progress/", "{student}", "people/"),
    "student": ("{student}", "{student}practice/", "{student}messages/"),
    "guardian": ("students/", "{student}"),
}
# Who writes what where: `{new}` is a fresh address, and a group has two students.
WRITES: dict[str, tuple[str, str, dict[str, str]]] = {
    "lessons_lesson": ("coach", "{student}lessons/{new}/", {"putting": "on", "day": "2026-06-01", "keep": TYPED}),
    "lessons_session": (
        "coach",
        "groups/{new}/",
        {**JUNIORS, "areas": "putting", "day": "2026-06-01", "begin": "1"},
    ),
    "family_message": ("coach", "{student}messages/{new}/", {"text": WINDY * 3}),
    "drills_practiceentry": ("student", "{student}practice/{prescription}/{new}/", {"note": WINDY}),
}


# --- A small disk and a server on it ------------------------------------------------------------


class Folder(NamedTuple):
    """The data of an academy, and how to come in."""

    path: Path
    sessions: dict[str, str]
    keys: dict[str, str]

    def rows(self, question: str) -> list[tuple[object, ...]]:
        """What is stored."""
        with closing(sqlite3.connect(self.path / "coachbook.sqlite3")) as database:
            return database.execute(question).fetchall()


def run(folder: Path, *words: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """A fresh process with its data in this folder."""
    return subprocess.run(
        [sys.executable, *words], env=clean(folder, **environment), cwd=ROOT, capture_output=True, text=True
    )


def clean(folder: Path, **environment: str) -> dict[str, str]:
    kept = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
    return {**kept, "DATA_DIR": str(folder), "DJANGO_SETTINGS_MODULE": "coachbook.settings", **environment}


@pytest.fixture(scope="module")
def academy(tmp_path_factory: pytest.TempPathFactory) -> Folder:
    """A database with the cast, made once."""
    path = tmp_path_factory.mktemp("academy")
    made = run(path, "-m", "tests.outage_academy")
    assert made.returncode == 0, made.stderr
    facts = json.loads(made.stdout)
    return Folder(path, facts["sessions"], facts["keys"])


@pytest.fixture
def mount_point(tmp_path: Path) -> Iterator[Path]:
    """A real file system of eight megabytes, empty."""
    path = tmp_path / "disk"
    path.mkdir()
    done = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=8m", "tmpfs", path], capture_output=True, text=True)
    if done.returncode:
        pytest.skip(f"only root may mount a small disk: {done.stderr.strip()}")
    yield path
    subprocess.run(["umount", "--lazy", path], check=True)


@pytest.fixture
def disk(mount_point: Path, academy: Folder) -> Folder:
    """The academy on a disk of its own."""
    for path in academy.path.iterdir():
        shutil.copy2(path, mount_point)
    return academy._replace(path=mount_point)


def fill(disk: Path) -> None:
    """Leave no byte of room."""
    with (disk / "fill").open("wb", buffering=0) as file, suppress(OSError):
        while True:
            file.write(bytes(4096))
    assert shutil.disk_usage(disk).free == 0


def remount(disk: Path, how: str) -> None:
    """Change a disk, once the server has closed the files of the answer that it gave last."""
    words = ["mount", "-o", f"remount,{how}", disk]
    deadline = time.monotonic() + 10
    while subprocess.run(words, capture_output=True).returncode:
        assert time.monotonic() < deadline, "the disk stays in use"
        time.sleep(0.05)


class Answer(NamedTuple):
    status: int
    headers: http.client.HTTPMessage
    text: str


class Server(NamedTuple):
    """A server process, and who is asked for."""

    port: int
    folder: Folder

    def ask(
        self, actor: str, address: str, typed: Typed | None = None, *, headers: dict[str, str] | None = None
    ) -> Answer:
        """The answer to a signed-in person (or to nobody: "") who reads, or who sends what was typed."""
        cookies = f"csrftoken={TOKEN}; sessionid={self.folder.sessions.get(actor, '')}"
        # A browser says where a form was written: Fetch standard, "append a request `Origin` header".
        more = {"Cookie": cookies, "X-CSRFToken": TOKEN, "Origin": f"http://127.0.0.1:{self.port}"}
        more["Content-Type"] = "application/x-www-form-urlencoded"
        with closing(http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)) as line:
            body = urlencode(typed) if typed is not None else None
            line.request("GET" if body is None else "POST", f"/{address}", body, more | (headers or {}))
            found = line.getresponse()
            return Answer(found.status, found.headers, found.read().decode())

    def page(self, actor: str, address: str) -> Answer:
        return self.ask(actor, self.place(address, uuid.uuid4()))

    def place(self, address: str, new: uuid.UUID) -> str:
        keys = self.folder.keys
        return address.format(**keys | {"student": f"students/{keys['student']}/"}, new=new)

    def write(self, table: str, new: uuid.UUID) -> Answer:
        """What somebody sends to a fresh address."""
        actor, address, typed = WRITES[table]
        both = [("students", self.folder.keys[name]) for name in ("student", "other") if "begin" in typed]
        return self.ask(actor, self.place(address, new), [*typed.items(), *both])


@contextmanager
def serve(folder: Folder) -> Iterator[Server]:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    words = [sys.executable, "manage.py", "runserver", "--noreload", f"127.0.0.1:{port}"]
    process = subprocess.Popen(
        words, env=clean(folder.path), cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        wait_until_it_listens(port, process)
        yield Server(port, folder)
    finally:
        process.terminate()
        process.wait(timeout=20)


def wait_until_it_listens(port: int, process: "subprocess.Popen[bytes]") -> None:
    deadline = time.monotonic() + 60
    while time.monotonic() < deadline and process.poll() is None:
        with socket.socket() as line:
            if not line.connect_ex(("127.0.0.1", port)):
                return
        time.sleep(0.1)
    raise AssertionError("the server did not start")


# --- A full disk --------------------------------------------------------------------------------


@pytest.mark.one_database
def test_on_a_full_disk_pages_are_read_and_a_save_says_so_until_there_is_room(disk: Folder) -> None:
    """RFC 4918, 11.5: 507 is the answer of a server that has no room for what it should store."""
    log = f"students/{disk.keys['student']}/lessons/{uuid.uuid4()}/"
    typed = {"putting": "on", "day": "2026-06-01", "keep": TYPED, "page": "a", "count": "1", "a.grip.good": "on"}
    before = disk.rows("select count(*) from lessons_lesson")
    with serve(disk) as server:
        fill(disk.path)
        pages = {(actor, name): server.page(actor, name).status for actor, names in READ.items() for name in names}
        assert {page: status for page, status in pages.items() if status != 200} == {}
        assert server.ask("", "account/login/").status == 200

        refused = server.ask("coach", log, typed)
        assert refused.status == 507 and "the server’s disk is full" in refused.text and TYPED.strip() in refused.text
        assert refused.headers["Retry-After"] and "Traceback" not in refused.text
        part = server.ask("coach", log, typed, headers={"HX-Request": "true"})
        assert part.status == 507 and part.text.startswith("<p>Not saved: the server’s disk is full.")
        sign_in = server.ask("", "account/login/", {"login": "ida.fernkettle", "password": PASSWORD})
        assert sign_in.status in (503, 507) and "the server’s disk is full" in sign_in.text
        assert PASSWORD not in sign_in.text

        (disk.path / "fill").unlink()
        assert disk.rows("select count(*) from lessons_lesson") == before
        answer = server.ask("coach", log, typed, headers={"HX-Request": "true"})
        assert answer.status == 201, answer.text
    assert disk.rows("select keep from lessons_lesson where status = 'draft'") == [(TYPED.strip(),)]
    assert disk.rows("select count(*) from lessons_observation") == [(1,)]
    assert disk.rows("pragma integrity_check") == [("ok",)]


def refused(server: Server, table: str, new: uuid.UUID, status: int, words: str) -> bool:
    """Whether a write is refused with the reason, and with everything that was typed, to be sent again."""
    answer, typed = server.write(table, new), WRITES[table][2]
    kept = all(html.escape(value.strip()) in answer.text for value in typed.values())
    return answer.status == status and words in answer.text and kept and bool(answer.headers["Retry-After"])


@pytest.mark.one_database
def test_whoever_writes_on_a_full_or_read_only_disk_keeps_their_words_and_sends_them_once_again(disk: Folder) -> None:
    """Each kind of write at its own address, which is used again once there is room."""
    addresses = {table: uuid.uuid4() for table in WRITES}
    with serve(disk) as server:
        fill(disk.path)
        full = [refused(server, *place, 507, "the server’s disk is full") for place in addresses.items()]
        (disk.path / "fill").unlink()
        remount(disk.path, "ro")
        locked = [refused(server, *place, 503, "the server’s disk cannot be written") for place in addresses.items()]
        remount(disk.path, "rw")
        assert full == locked == [True] * len(WRITES)
        for _ in range(2):
            answers = {table: server.write(table, new).status for table, new in addresses.items()}
            assert {status for status in answers.values() if not 200 <= status < 400} == set(), answers
    for table, new in addresses.items():
        assert disk.rows(f"select count(*) from {table} where key = '{new.hex}'") == [(1,)], table
    assert disk.rows("pragma integrity_check") == [("ok",)] and disk.rows("pragma foreign_key_check") == []


@pytest.mark.one_database
def test_a_backup_that_fills_the_disk_leaves_nothing_half_done(disk: Folder) -> None:
    """There is room for the first part of the copy, and no more."""
    fill(disk.path)
    os.truncate(disk.path / "fill", (disk.path / "fill").stat().st_size - 600_000)
    done = run(disk.path, "manage.py", "backup")
    assert says_in_one_line(done, "disk is full", str(disk.path)), done.stderr
    assert [path.name for path in (disk.path / "backups").iterdir()] == [".lock"]
    (disk.path / "fill").unlink()
    done = run(disk.path, "manage.py", "backup")
    assert done.returncode == 0 and "is whole" in done.stdout, done.stderr
    assert disk.rows("pragma integrity_check") == [("ok",)]


# --- A disk that cannot be written --------------------------------------------------------------


@pytest.mark.one_database
def test_on_a_read_only_disk_every_page_reads_or_says_so_until_it_can_be_written(disk: Folder) -> None:
    with serve(disk) as server:
        assert server.page("coach", "students/").status == 200
        remount(disk.path, "ro")
        for actor, names in READ.items():
            for name in names:
                answer = server.page(actor, name)
                assert answer.status in (200, 503), (actor, name)
                assert answer.status == 200 or "the server’s disk cannot be written" in answer.text
                assert "Traceback" not in answer.text
        assert server.ask("", "account/login/").status == 200
        sign_in = server.ask("", "account/login/", {"login": "ida.fernkettle", "password": PASSWORD})
        assert sign_in.status == 503 and "the server’s disk cannot be written" in sign_in.text
        assert sign_in.headers["Retry-After"] and PASSWORD not in sign_in.text
        remount(disk.path, "rw")
        assert server.page("coach", "students/").status == 200


# --- The start ----------------------------------------------------------------------------------

DEMO, MIGRATE, RUNSERVER = ("demo", "--no-serve"), ("migrate",), ("runserver", "127.0.0.1:0")


def says_in_one_line(done: subprocess.CompletedProcess[str], *words: str) -> bool:
    lines = [line for line in done.stderr.splitlines() if line and not re.match(r"INFOS|System check|\?:|\tHINT", line)]
    return done.returncode == 1 and len(lines) == 1 and all(word in lines[0] for word in words)


@pytest.mark.parametrize("words", [DEMO, MIGRATE, RUNSERVER], ids=lambda words: words[0])
def test_a_start_on_a_full_disk_says_so_in_one_line(words: tuple[str, ...], mount_point: Path) -> None:
    fill(mount_point)
    done = run(mount_point, "manage.py", *words)
    assert says_in_one_line(done, "disk is full", str(mount_point)), done.stderr


def test_a_start_on_a_full_disk_leaves_nothing_that_hinders_the_next(mount_point: Path) -> None:
    fill(mount_point)
    assert run(mount_point, "manage.py", "check").returncode == 1
    (mount_point / "fill").unlink()
    assert run(mount_point, "manage.py", "check").returncode == 0


@pytest.mark.parametrize("words", [DEMO, RUNSERVER], ids=lambda words: words[0])
def test_a_start_on_a_read_only_disk_says_so_in_one_line(words: tuple[str, ...], disk: Folder) -> None:
    remount(disk.path, "ro")
    done = run(disk.path, "manage.py", *words)
    assert says_in_one_line(done, "cannot be written", str(disk.path)), done.stderr


def test_a_start_where_no_folder_can_be_made_says_so_in_one_line(mount_point: Path) -> None:
    remount(mount_point, "ro")
    assert says_in_one_line(run(mount_point / "data", "manage.py", "migrate"), "cannot be written", "data")


@pytest.mark.parametrize("words", [MIGRATE, RUNSERVER], ids=lambda words: words[0])
def test_a_start_without_its_database_says_so_in_one_line(words: tuple[str, ...], tmp_path: Path) -> None:
    done = run(tmp_path, "manage.py", *words, DATABASE_URL="postgres://nobody@127.0.0.1:1/none")
    assert says_in_one_line(done, "database does not answer", "port 1"), done.stderr


# --- What counts as an outage -------------------------------------------------------------------


def sqlite_error(name: str) -> sqlite3.Error:
    error = sqlite3.OperationalError(name)
    error.sqlite_errorcode = getattr(sqlite3, name)
    return error


def wrapped(cause: Exception) -> Exception:
    """As Django raises it."""
    error = db.InternalError if isinstance(cause, psycopg.InternalError) else db.OperationalError
    found = error(str(cause))
    found.__cause__ = cause
    return found


@pytest.mark.parametrize(
    ("error", "status"),
    [
        (OSError(errno.ENOSPC, "No space left on device"), 507),
        (OSError(errno.EROFS, "Read-only file system"), 503),
        (PermissionError(errno.EACCES, "Permission denied"), 503),
        (OSError(errno.EHOSTUNREACH, "The store of media did not do what was asked of it"), 503),
        (wrapped(sqlite_error("SQLITE_FULL")), 507),
        (wrapped(sqlite_error("SQLITE_READONLY_DIRECTORY")), 503),
        (wrapped(sqlite_error("SQLITE_IOERR_WRITE")), 503),
        (wrapped(sqlite_error("SQLITE_CANTOPEN")), 503),
        (wrapped(sqlite_error("SQLITE_BUSY")), 503),
        (wrapped(psycopg.errors.DiskFull("could not extend file")), 507),
        (wrapped(psycopg.errors.ReadOnlySqlTransaction("cannot execute INSERT")), 503),
        (wrapped(psycopg.errors.CannotConnectNow("the database system is starting up")), 503),
        (wrapped(psycopg.errors.AdminShutdown("terminating connection")), 503),
        (wrapped(psycopg.errors.ConnectionFailure("08006")), 503),
        (wrapped(psycopg.OperationalError("connection refused")), 503),
    ],
    ids=str,
)
def test_an_outage_is_said_wherever_it_is_met(
    error: Exception, status: int, cast: Cast, as_: Clients, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Here in a middleware, before any view; the page itself must not ask the same database again."""

    def fail() -> Academy:
        raise error

    client = as_("coach")
    client.get("/students/")
    monkeypatch.setattr(Academy, "current", fail)
    answer = client.get("/students/")
    assert answer.status_code == status and answer.headers["Retry-After"] == "60"
    assert "<h1>This page is not available just now</h1>" in answer.content.decode()


@pytest.mark.parametrize(
    "error",
    [
        ValueError("no"),
        OSError(errno.EPIPE, "Broken pipe"),
        ConnectionRefusedError(errno.ECONNREFUSED, "the mail server"),
        wrapped(sqlite_error("SQLITE_ERROR")),
        wrapped(sqlite_error("SQLITE_CORRUPT")),
        wrapped(psycopg.errors.QueryCanceled("statement timeout")),
        db.OperationalError("raised by hand"),
        db.IntegrityError("a row is there"),
    ],
    ids=str,
)
def test_whatever_else_goes_wrong_is_a_fault_of_the_program(
    error: Exception, as_: Clients, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail() -> Academy:
        raise error

    monkeypatch.setattr(Academy, "current", fail)
    answer = as_("coach").get("/students/")
    assert outage_of(error) is None
    assert answer.status_code == 500 and "<h1>Something went wrong</h1>" in answer.content.decode()


@contextmanager
def no_writes() -> Iterator[None]:
    """The database refuses every write; PostgreSQL takes them again once this part is rolled back."""
    is_sqlite = db.connection.vendor == "sqlite"
    with db.transaction.atomic(), db.connection.cursor() as cursor:
        cursor.execute("PRAGMA query_only = ON" if is_sqlite else "SET TRANSACTION READ ONLY")
        try:
            yield
        finally:
            if is_sqlite:
                cursor.execute("PRAGMA query_only = OFF")
            db.transaction.set_rollback(True)


def test_a_database_that_takes_no_writes_still_reads(cast: Cast, as_: Clients) -> None:
    address, client = f"/students/{cast.student.key}/lessons/{uuid.uuid4()}/", as_("coach")
    client.get("/students/")
    with no_writes():
        assert client.get(address).status_code == 200
        answer = client.post(address, {"putting": "on", "keep": "Calm rhythm"})
    assert answer.status_code == 503 and 'name="keep" value="Calm rhythm"' in answer.content.decode()
    assert not Lesson.objects.filter(keep="Calm rhythm").exists()


def test_another_site_cannot_fill_in_the_page_that_keeps_what_was_typed(
    cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(request: object, reason: str = "") -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("django.middleware.csrf._get_failure_view", lambda: fail)
    client = Client(enforce_csrf_checks=True, raise_request_exception=False)
    client.force_login(cast.coach.user)
    answer = client.post("/people/", {"name": "planted"}, headers={"Origin": "https://elsewhere.example"})
    assert answer.status_code == 507 and "planted" not in answer.content.decode()
