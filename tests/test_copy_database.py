"""`copy_database`: what stands in PostgreSQL afterwards is what stood in SQLite, or nothing does."""

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from io import StringIO
from typing import Any

import psycopg
import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import connection, connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.recorder import MigrationRecorder
from django.test import Client
from django.utils import timezone

from coachbook.accounts.models import Student, User
from coachbook.corrections.models import Correction
from coachbook.management.commands.test import answering_postgres
from coachbook.operations.backups.rows import as_text, models_stored, second_connection
from coachbook.operations.growth import copy
from coachbook.operations.growth.places import parse
from coachbook.operations.health import known_migrations
from tests.conftest import make_cast
from tests.make import make_fault, make_lesson, make_skill, make_student, make_user

pytestmark = pytest.mark.one_database

NAME = f"coachbook_copied_{os.environ.get('PYTEST_XDIST_WORKER', 'one')}"
EMPTY = f"{NAME}_empty"
OF_THE_COPY = ("source", "target")


@pytest.fixture(scope="session")
def server() -> Iterator[str]:
    """The address of a PostgreSQL server that holds an empty database, migrated."""
    try:
        url = answering_postgres("")
    except SystemExit as error:
        pytest.skip(str(error))
    administer(url, f"DROP DATABASE IF EXISTS {EMPTY}", f"CREATE DATABASE {EMPTY}")
    environment = {**os.environ, "DJANGO_SETTINGS_MODULE": "coachbook.settings", "DATABASE_URL": address(url, EMPTY)}
    words = [sys.executable, "-m", "tests.empty_postgres"]
    subprocess.run(words, env=environment, cwd=settings.BASE_DIR, check=True)
    yield url
    administer(url, f"DROP DATABASE {EMPTY}")


def administer(url: str, *statements: str) -> None:
    with psycopg.connect(url, dbname="postgres", autocommit=True) as server:
        for statement in statements:
            server.execute(statement)


def address(url: str, name: str) -> str:
    return f"{url.rpartition('/')[0]}/{name}"


@pytest.fixture
def migrated(transactional_db: None, settings: Any) -> Iterator[None]:
    """The tests make their tables without migrations; here all are noted as applied, as in a site."""
    settings.MIGRATION_MODULES = {}
    known_migrations.cache_clear()
    recorder = MigrationRecorder(connection)
    recorder.ensure_schema()
    before = set(recorder.applied_migrations())
    recorder.migration_qs.bulk_create(
        recorder.Migration(app=app, name=name) for app, name in known_migrations() - before
    )
    yield
    recorder.flush()
    known_migrations.cache_clear()


@pytest.fixture
def target(server: str, migrated: None, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """The address of an empty database, to which and from which the command may connect."""
    ensure_connection = BaseDatabaseWrapper.ensure_connection

    def connect(self: BaseDatabaseWrapper) -> None:
        if self.alias in OF_THE_COPY and self.connection is None:
            with self.wrap_database_errors:
                self.connect()
        else:
            ensure_connection(self)

    monkeypatch.setattr(BaseDatabaseWrapper, "ensure_connection", connect)
    drop = f"DROP DATABASE IF EXISTS {NAME} WITH (FORCE)"
    administer(server, drop, f"CREATE DATABASE {NAME} TEMPLATE {EMPTY}")
    yield address(server, NAME)
    administer(server, drop)


def run(url: str, **options: Any) -> str:
    said = StringIO()
    call_command("copy_database", to=url, stdout=said, **options)
    return said.getvalue()


@contextmanager
def opened(url: str) -> Iterator[str]:
    """The copy, for the ORM."""
    with second_connection("target", **{"OPTIONS": {}, **parse(url)}) as alias:
        yield alias


def stored(alias: str) -> dict[str, list[str]]:
    """Every value of every row, by table; read and compared here without the sums that the command compares."""
    return {
        model._meta.db_table: sorted(
            as_text(row)
            for row in model._base_manager.using(alias).values_list(*(f.attname for f in model._meta.concrete_fields))
        )
        for model in models_stored()
    }


def people(url: str) -> int:
    with psycopg.connect(url) as copied:
        [number] = copied.execute("SELECT count(*) FROM accounts_user").fetchone() or [-1]
    return int(number)


def fill_academy() -> str:
    """People, a lesson, a correction, a history and somebody who is signed in; returns the key of their session."""
    cast = make_cast()
    cast.student.putter_length = "33.50"
    cast.student.name = "Álder “Quimble”\t\\N ☂"
    cast.student.save()
    make_fault(make_skill("grip"), "apart")
    make_lesson(cast.student, cast.coach, keep="Calm\nrhythm", status="complete", completed_at="2026-06-01T11:00Z")
    changes = [{"b": 1, "a": [1.0, 1e-7, None, True, "ü"]}]
    Correction.objects.create(
        kind="moved", student=cast.student, summary="moved", by=cast.manager, at=timezone.now(), changes=changes
    )
    client = Client()
    client.force_login(cast.coach.user)
    return client.cookies[settings.SESSION_COOKIE_NAME].value


def test_every_value_is_there_and_whoever_is_signed_in_stays_so(target: str) -> None:
    session = fill_academy()
    before = stored("default")
    assert sum(map(len, before.values())) > 100 and before["accounts_historicalstudent"]
    said = run(target, verbosity=2)
    assert "same rows and checksums" in said and f"DATABASE_URL={target}" in said
    assert f"{'accounts_user':<46}{User.objects.count():>10,}  " in said
    with opened(target) as alias:
        assert stored(alias) == before == stored("default")
        name = connections["default"].settings_dict
        assert name["ENGINE"].endswith("sqlite3")
    words = (
        "import django; django.setup(); from django.test import Client; from django.conf import settings; import sys;"
        "client = Client(SERVER_NAME='localhost'); client.cookies[settings.SESSION_COOKIE_NAME] = sys.argv[1];"
        "print(client.get('/', follow=True).content.decode())"
    )
    served = {"DJANGO_SETTINGS_MODULE": "coachbook.settings", "DATABASE_URL": target}
    page = subprocess.run(
        [sys.executable, "-c", words, session],
        env={**os.environ, **served, "SECRET_KEY": settings.SECRET_KEY},
        cwd=settings.BASE_DIR, capture_output=True, text=True, check=True,
    ).stdout  # fmt: skip
    assert "<span>Ida Fernkettle</span>" in page and "Sign out" in page


def test_no_number_of_a_deleted_row_comes_again(target: str) -> None:
    """Its history would become that of another one."""
    kept = make_user("Odile Bramblewing")
    gone = make_user("Greta Withyspool")
    gone.delete()
    run(target)
    with opened(target) as alias:
        new = User.objects.using(alias).create(username="new", name="Somebody New", password="!")
        first = Student.objects.using(alias).create(name="First", age_group="adult")
    assert new.pk > kept.pk + 1 and first.pk


def test_a_rehearsal_keeps_nothing(target: str) -> None:
    make_user("Odile Bramblewing")
    assert "nothing is kept" in run(target, rehearse=True)
    assert people(target) == 0
    run(target)
    assert people(target) == 1


REFUSED = [
    ("INSERT INTO auth_group (name) VALUES ('x')", "DELETE FROM auth_group", "not empty"),
    ("INSERT INTO django_migrations VALUES (999, 'lessons', '9999_new', now())",
     "DELETE FROM django_migrations WHERE id = 999", r"another version.*lessons\.9999_new"),
    ("CREATE TABLE of_others (id int)", "DROP TABLE of_others", "not empty.*none of coachbook's: of_others"),
    ("DELETE FROM django_migrations WHERE app = 'lessons'", "SELECT 1", "lacks .* migrations"),
]  # fmt: skip


def test_a_target_that_is_not_empty_or_of_another_version_is_refused(target: str) -> None:
    make_user("Odile Bramblewing")
    for spoil, mend, message in REFUSED:
        execute(target, spoil)
        with pytest.raises(CommandError, match=message):
            run(target)
        assert people(target) == 0
        execute(target, mend)


def execute(url: str, statement: str) -> None:
    with psycopg.connect(url) as database:
        database.execute(statement)


WRONG = [
    ("mysql:///coachbook", "Type an address"),
    ("postgres:///", "names no database"),
    ("postgres://127.0.0.1:1/coachbook", "No database answers"),
    ("postgres://127.0.0.1:one/coachbook", "cannot be read"),
]


def test_an_address_that_cannot_be_is_said_so(target: str) -> None:
    for url, message in WRONG:
        with pytest.raises(CommandError, match=message):
            run(url)


def test_a_copy_with_another_checksum_is_taken_back(target: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A fault is put in where the rows are written: the last letter of each name is lost."""
    make_user("Odile Bramblewing")
    as_stored = User._meta.get_field("name").get_db_prep_save
    monkeypatch.setattr(User._meta.get_field("name"), "get_db_prep_save", lambda *given: as_stored(*given)[:-1])
    with pytest.raises(CommandError, match="came out different: accounts_user"):
        run(target)
    assert people(target) == 0


def test_what_postgresql_refuses_is_named_and_nothing_is_copied(target: str) -> None:
    """SQLite keeps what PostgreSQL does not: text that is too long, and a row that points to nothing."""
    student = make_student("Alder Quimble")
    Student.objects.filter(pk=student.pk).update(name="x" * 500)
    with pytest.raises(CommandError, match="refused accounts_student: value too long"):
        run(target)
    Student.objects.filter(pk=student.pk).update(name="Alder Quimble")
    with connection.constraint_checks_disabled():
        Student.objects.filter(pk=student.pk).update(user_id=12345)
        with pytest.raises(CommandError, match="refused a row that points nowhere"):
            run(target)
        Student.objects.filter(pk=student.pk).update(user_id=None)
    assert people(target) == 0


def test_who_writes_meanwhile_is_not_left_behind(target: str, monkeypatch: pytest.MonkeyPatch) -> None:
    compare, names = copy.compare, iter(["Latecomer One", "Latecomer Two"])

    def write_and_compare(*given: Any) -> None:
        make_user(next(names))
        compare(*given)

    monkeypatch.setattr(copy, "compare", write_and_compare)
    with pytest.raises(CommandError, match="Somebody wrote"):
        run(target)
    assert people(target) == 0
    assert "nothing is kept" in run(target, rehearse=True), "a rehearsal lets people write"


def test_a_copy_that_is_killed_leaves_nothing_and_can_be_made_again(target: str) -> None:
    """Kill -9 once rows have been written, seen from outside by the size of the table that grows."""
    make_cast()
    words = [sys.executable, "-c", KILLED]
    environment = {**os.environ, "DJANGO_SETTINGS_MODULE": "coachbook.settings", "TARGET": target}
    file = connection.settings_dict["NAME"]
    process = subprocess.Popen(words, env={**environment, "DATABASE_URL": f"sqlite:///{file}"}, cwd=settings.BASE_DIR)
    try:
        wait_for_rows(target)
    finally:
        process.kill()
        process.wait()
    assert people(target) == 0
    run(target)
    assert people(target) == User.objects.count()


# The command itself; it waits for its end once the rows are written.
KILLED = """
import os, time, django
django.setup()
from django.core.management import call_command
from coachbook.operations.growth import copy
copy.compare = lambda *given: time.sleep(600)
call_command("copy_database", to=os.environ["TARGET"])
"""


GROWN = "SELECT pg_relation_size('usersessions_usersession') + pg_relation_size('accounts_user')"


def wait_for_rows(url: str) -> None:
    deadline = time.monotonic() + 60
    with psycopg.connect(url, autocommit=True) as watching:
        while watching.execute(GROWN).fetchone() == (0,):
            assert time.monotonic() < deadline
            time.sleep(0.05)
