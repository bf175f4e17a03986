"""The named cast, signed-in clients, and what every test run obeys."""

import gc
import os
import shutil
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.cache import cache
from django.db import connection
from django.test import Client, TransactionTestCase, override_settings
from django.utils import timezone

from coachbook.accounts.models import Academy, Care, Coach, Student, User
from tests import clocks, emptied, statements
from tests.library import keep_library
from tests.make import (
    make_academy,
    make_care,
    make_coach,
    make_consent,
    make_factor,
    make_guardian,
    make_student,
    make_user,
)

# Playwright's sync API leaves an event loop in the thread, and Django would refuse every later query there.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
TransactionTestCase._fixture_teardown = emptied.teardown  # type: ignore[method-assign]
skipped: list[str] = []


def pytest_addoption(parser: pytest.Parser, pluginmanager: pytest.PytestPluginManager) -> None:
    pluginmanager.register(clocks)
    parser.addoption("--skips", help="a file that names the tests which may be skipped; any other skip fails the run")
    parser.addoption("--asking", action="store_true", help="only tests that ask the database")
    help = "a folder where what each test asks the database is kept, or with --asking read"
    parser.addoption("--statements", type=Path, help=help)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """A second database teaches nothing about tests that ask none, nor of those that ask what others ask."""
    if config.getoption("--asking"):
        asking, folder = [item for item in items if asks(item)], config.getoption("--statements")
        chosen = statements.choose(asking, statements.read_kept(folder)) if folder else asking
        config.hook.pytest_deselected(items=[item for item in items if item not in set(chosen)])
        items[:] = chosen
    # The browser's take longest: begun last, one process would wait for the other's.
    items.sort(key=lambda item: item.get_closest_marker("browser") is None)


def pytest_collection_finish() -> None:
    """What was imported lives as long as the tests: looking through it for garbage again and again costs a tenth."""
    gc.freeze()
    gc.set_threshold(100_000, 20, 100)


def asks(item: pytest.Item) -> bool:
    """Whether a test asks the database, and for what another database could answer otherwise."""
    fixtures = {"db", "transactional_db"} & set(getattr(item, "fixturenames", ()))
    marks = {mark.name for mark in item.iter_markers()}
    return (bool(fixtures) or "django_db" in marks) and "one_database" not in marks


def pytest_configure(config: pytest.Config) -> None:
    keep_statements(config)
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    settings.CACHES["default"] = {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}
    if settings.DATABASES["default"]["ENGINE"].endswith("sqlite3"):
        # Rows without an order come in any, on PostgreSQL at least: here the last comes first.
        settings.DATABASES["default"]["OPTIONS"]["init_command"] += " PRAGMA reverse_unordered_selects=ON;"


def keep_statements(config: pytest.Config) -> None:
    """Have each process keep what its tests ask, in a folder that was emptied by the first one."""
    folder, worker = config.getoption("--statements"), os.environ.get("PYTEST_XDIST_WORKER", "")
    if not folder or config.getoption("--asking"):
        return
    if not worker:
        shutil.rmtree(folder, ignore_errors=True)
    config.pluginmanager.register(statements.Keeper(folder, worker or "one"))


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    if report.skipped:
        skipped.append(report.nodeid)


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    named = session.config.getoption("--skips")
    if named and not hasattr(session.config, "workerinput"):
        allowed = {line.split("#")[0].strip() for line in Path(named).read_text().splitlines()}
        unnamed = sorted(set(skipped) - allowed)
        if unnamed and not exitstatus:
            session.exitstatus = 1
        for node in unnamed:
            print(f"\nskipped without being named in {named}: {node}")


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None, django_db_blocker: Any) -> None:
    """The database of the tests, and beside its tables a copy of the library that ships."""
    with django_db_blocker.unblock():
        emptied.leave_uncounted(connection)
        keep_library()


@pytest.fixture(scope="session", autouse=True)
def media_of_all(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """A folder for the files of all tests that have none of their own."""
    with override_settings(MEDIA_ROOT=tmp_path_factory.mktemp("media")):
        yield


@pytest.fixture(autouse=True)
def empty_cache() -> Iterator[None]:
    yield
    cache.clear()


@dataclass
class Cast:
    """Who is who in nearly every test."""

    academy: Academy
    manager: User
    coach: Coach
    cover: Coach
    assistant: Coach
    other_coach: Coach
    student: Student
    other_student: Student
    guardian: User
    past_guardian: User
    past_coach: Coach
    closed: User

    def user(self, actor: str) -> User:
        """The account of one of the cast."""
        person = getattr(self, actor)
        return person if isinstance(person, User) else person.user


@pytest.fixture
def media(tmp_path: Path, settings: Any) -> Path:
    """An empty folder for the files of one test."""
    settings.MEDIA_ROOT = tmp_path / "media"
    return tmp_path / "media"


@pytest.fixture
def cast(db: None, request: pytest.FixtureRequest) -> Cast:
    """A coach with a young student whom a second coach covers and a third assists, as a guardian consents to.

    And a guardian and a coach who no longer have to do with the student; strangers; a manager. Their history is
    kept only for tests marked `history`: nearly every test makes them, and it takes more time than they do.
    """
    with override_settings(SIMPLE_HISTORY_ENABLED=request.node.get_closest_marker("history") is not None):
        return make_cast()


def make_cast() -> Cast:
    academy = make_academy()
    coach, cover = make_coach("Ida Fernkettle"), make_coach("Bram Saltquill")
    assistant, other_coach = make_coach("Noor Appleknot"), make_coach("Cai Meadowtwine")
    student = make_student("Alder Quimble", coach=coach)
    make_care(cover, student, role=Care.Role.COVER)
    make_care(assistant, student, role=Care.Role.ASSISTANT)
    guardian, past_guardian = make_guardian("Maud Plumsilk", student), make_guardian("Piers Yarrowpin", student)
    student.guardianships.filter(guardian=past_guardian).update(ended_on=date(2025, 1, 1))
    make_consent(student, guardian)
    manager = make_user("Odile Bramblewing", is_manager=True)
    make_factor(manager)
    past_coach = make_coach("Tam Heronquill")
    make_care(past_coach, student, role=Care.Role.COVER, until=date(2025, 1, 1))
    return Cast(
        academy=academy,
        manager=manager,
        coach=coach,
        cover=cover,
        assistant=assistant,
        other_coach=other_coach,
        student=student,
        other_student=make_student("Petra Sallowpipit", coach=other_coach),
        guardian=guardian,
        past_guardian=past_guardian,
        past_coach=past_coach,
        closed=make_user("Greta Withyspool", is_active=False, is_manager=True),
    )


@pytest.fixture
def as_(cast: Cast) -> Callable[[str], Client]:
    """A client signed in as one of the cast, anew on another day: `as_("coach").get(...)`."""

    clients: dict[str, Client] = {}
    since: dict[str, datetime] = {}

    def signed_in(actor: str) -> Client:
        client = clients.setdefault(actor, Client(raise_request_exception=False))
        begun = since.get(actor)
        if actor != "anonymous" and (begun is None or abs(timezone.now() - begun) > timedelta(hours=11)):
            client.force_login(cast.user(actor))
            since[actor] = timezone.now()
        return client

    return signed_in


def wait_for_requests() -> None:
    """Wait until the live server answers nobody: a flush under an open save deadlocks on PostgreSQL."""
    deadline = time.monotonic() + 10
    while time.monotonic() < deadline and any("process_request_thread" in t.name for t in threading.enumerate()):
        time.sleep(0.01)
