"""`start`: an academy of one's own from an empty folder, and the same command after every upgrade."""

import os
import re
import shutil
import subprocess
import sys
from io import StringIO
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from django.conf import settings as configured
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse

from coachbook.accounts.models import Academy, User
from coachbook.demo import people
from coachbook.operations import health
from drills.models import Drill
from tests.make import make_academy, make_factor, make_user

ROOT = Path(configured.BASE_DIR)
ANSWERS = {"academy": "Sedge Hollow", "time_zone": "Europe/Dublin", "units": "ft", "paper": "Letter"}
FIRST = {"manager_name": "Odile Bramblewing", "manager_email": "odile@book.example"}


@pytest.fixture
def production(settings: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    """A site that has its settings; the library and the static files are other tests' business."""
    settings.PRODUCTION, settings.SITE_ADDRESS, settings.DATA_DIR = True, "https://book.example", tmp_path
    settings.BACKUP_DIR = tmp_path / "backups"
    called: list[str] = []
    command = "coachbook.management.commands.start"
    monkeypatch.setattr(f"{command}.prepare_database", lambda: called.append("database"))
    monkeypatch.setattr(f"{command}.call_command", lambda name, **options: called.append(name))
    settings.CALLED = called
    return settings


def start(**options: Any) -> str:
    said = StringIO()
    call_command("start", no_input=True, stdout=said, **options)
    return said.getvalue()


def link_in(said: str) -> str:
    [found] = re.findall(r"https://\S+", said)
    assert urlsplit(found).netloc == "book.example"
    return urlsplit(found).path


# --- From an empty folder to the first manager ----------------------------------------------------


def run(folder: Path, *words: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """A fresh process whose data lie in this folder, as on a machine that knows nothing of the site."""
    kept = {"PATH": os.environ["PATH"], "DATA_DIR": str(folder), "DJANGO_SETTINGS_MODULE": "coachbook.settings"}
    command = [sys.executable, "-m", "tests.quick_start", *words]
    return subprocess.run(command, env={**kept, **environment}, cwd=ROOT, capture_output=True, text=True)


def options_of(**values: str) -> list[str]:
    return [f"--{name.replace('_', '-')}={value}" for name, value in values.items()]


@pytest.mark.one_database
def test_one_command_makes_a_site_that_can_be_signed_in_to(tmp_path: Path) -> None:
    """In a fresh process, with every step: settings, tables, library, static files, academy, manager, link."""
    words = ["start", "--no-input", *options_of(host="book.example", **ANSWERS, **FIRST)]
    done = run(tmp_path, *words, EMAIL_HOST="localhost")
    assert done.returncode == 0, done.stderr
    link = link_in(done.stdout)
    assert (tmp_path / "settings").stat().st_mode & 0o777 == 0o600
    assert (tmp_path / "static/staticfiles.json").exists() and (tmp_path / "coachbook.sqlite3").exists()
    questions = (
        "from django.test import Client; from drills.models import Drill; from lessons.models import Skill;"
        "page = Client(SERVER_NAME='book.example').get('/account/login/', secure=True);"
        f"link = Client(SERVER_NAME='book.example').get('{link}', secure=True);"
        "print(page.status_code, link.status_code, Drill.objects.count() > 50, Skill.objects.count() > 20)"
    )
    asked = run(tmp_path, "shell", "--no-imports", "-c", questions)
    assert asked.stdout.split() == ["200", "200", "True", "True"], asked.stderr
    refused = run(tmp_path, "demo", "--no-serve")
    assert refused.returncode == 1 and "unset ALLOWED_HOSTS" in refused.stderr


def test_what_is_missing_is_said_in_one_go_and_nothing_is_written(tmp_path: Path) -> None:
    done = run(tmp_path, "start", "--no-input", "--database=mysql://book")
    assert done.returncode == 1 and "--host: This field is required." in done.stderr
    assert "--database: Type an address such as postgres:///coachbook" in done.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["secret_key"]


def test_the_settings_of_a_site_are_never_overwritten(tmp_path: Path) -> None:
    from coachbook.operations.site_settings import write_settings

    write_settings(tmp_path / "settings", host="book.example", database="postgres:///coachbook")
    before = (tmp_path / "settings").read_text()
    with pytest.raises(FileExistsError):
        write_settings(tmp_path / "settings", host="other.example", database="")
    assert (tmp_path / "settings").read_text() == before and len(list(tmp_path.iterdir())) == 1
    assert {"ALLOWED_HOSTS=book.example", "DATABASE_URL=postgres:///coachbook"} <= set(before.splitlines())


def test_a_server_without_static_files_says_so_at_its_start(tmp_path: Path) -> None:
    """Else every page would be a 500."""
    secret = "k3y-" + "abcdefghij" * 5
    done = run(tmp_path, "runserver", "--noreload", "127.0.0.1:0", ALLOWED_HOSTS="book.example", SECRET_KEY=secret)
    assert done.returncode != 0 and f"No static files in {tmp_path}/static: type python3 manage.py start" in done.stderr


# --- The academy and its first manager ------------------------------------------------------------


def test_the_first_manager_chooses_a_password_and_is_led_to_a_second_factor(db: None, production: Any) -> None:
    said = start(**ANSWERS, **FIRST)
    assert production.CALLED == ["check", "database", "collectstatic"]
    academy = Academy.objects.get()
    stored = (academy.name, academy.time_zone, academy.units, academy.paper)
    assert stored == ("Sedge Hollow", "Europe/Dublin", "ft", "Letter")
    manager = User.objects.get()
    assert manager.is_manager and manager.is_active and not manager.is_superuser and not manager.has_usable_password()
    client, words = Client(), "four calm words here"
    answer = client.post(link_in(said), {"new_password1": words, "new_password2": words}, follow=True)
    assert answer.redirect_chain[-1][0] == reverse("mfa_index")
    make_factor(manager)
    assert client.get("/caseload/").status_code == 200
    assert Client().get(link_in(said)).status_code == 404, "the link works once"


def test_again_after_an_upgrade_it_changes_nothing(db: None, production: Any) -> None:
    make_academy(name="Sedge Hollow", units="m")
    make_user("Odile Bramblewing", email="odile@book.example", is_manager=True)
    before = list(User.history.values_list("pk")), list(Academy.history.values_list("pk"))
    for options in ({}, {**ANSWERS, **FIRST, "academy": "Another"}):
        assert "https://" not in start(**options), "nobody gets a way into an account in use"
    assert Academy.objects.get().units == "m"
    assert (list(User.history.values_list("pk")), list(Academy.history.values_list("pk"))) == before


def test_a_lost_first_link_is_made_anew_and_ends_the_old_one(db: None, production: Any) -> None:
    first = link_in(start(**ANSWERS, **FIRST))
    second = link_in(start())
    assert Client().get(first).status_code == 404 and Client().get(second).status_code == 200


def test_a_second_first_manager_is_refused_unless_it_is_said(db: None, production: Any) -> None:
    start(**ANSWERS, **FIRST)
    other = {"manager_name": "Bram Saltquill", "manager_email": "bram@book.example"}
    with pytest.raises(CommandError, match="There is a manager already"):
        start(**other)
    assert User.objects.count() == 1
    link_in(start(**other, another_manager=True))
    assert set(User.objects.values_list("email", "is_manager")) == {
        ("odile@book.example", True),
        ("bram@book.example", True),
    }


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"time_zone": "Dublin"}, "--time-zone: Choose a time zone by its name"),
        ({"units": "yards"}, "--units: Select a valid choice"),
        ({"academy": " "}, "--academy: This field is required"),
        ({"manager_email": "odile"}, "--manager-email: Enter a valid email address"),
        ({"manager_name": None}, "--manager-name: This field is required"),
    ],
    ids=str,
)
def test_a_wrong_answer_is_said_by_the_name_of_its_option_and_nothing_is_half_done(
    wrong: dict[str, Any], message: str, db: None, production: Any
) -> None:
    with pytest.raises(CommandError, match=message):
        start(**{**ANSWERS, **FIRST, **wrong})
    assert not Academy.objects.exists() and not User.objects.exists()


def test_what_no_option_says_is_asked_until_it_is_right(
    db: None, production: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    typed = iter(["Sedge Hollow", "Dublin", "Europe/Dublin", "", "", "Odile Bramblewing", "odile@book.example"])
    asked: list[str] = []

    def answer(question: str) -> str:
        asked.append(question)
        return next(typed)

    monkeypatch.setattr("builtins.input", answer)
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    call_command("start", stdout=StringIO())
    assert asked[1] == asked[2] and "Time zone" in asked[1] and "[m]" in asked[3]
    assert Academy.objects.get().time_zone == "Europe/Dublin" and User.objects.get().email == "odile@book.example"


def test_the_demo_is_no_academy_of_ones_own(db: None, production: Any) -> None:
    make_user("Ida Fernkettle", username="ida")
    user = User.objects.get()
    user.set_password(people.PASSWORD)
    user.save()
    with pytest.raises(CommandError, match="holds the demo"):
        start(**ANSWERS, **FIRST)
    assert User.objects.count() == 1


def test_nobody_is_made_whom_every_page_refuses(db: None) -> None:
    with pytest.raises(CommandError, match=r"manage\.py start"):
        call_command("createsuperuser", interactive=False, username="odile", email="odile@book.example")
    assert not User.objects.exists()


def test_a_shipped_merge_that_the_academy_has_undone_stays_undone(db: None) -> None:
    """The library is loaded at each upgrade."""
    from tests.make import make_drill

    old, new = make_drill("old-gate"), make_drill("new-gate")
    Drill.take_over({old.code: new.code})
    old.refresh_from_db()
    assert old.merged_into == new
    old.take_merge_back()
    Drill.take_over({old.code: new.code})
    old.refresh_from_db()
    assert old.merged_into is None and not old.archived


# --- The units of systemd -------------------------------------------------------------------------


@pytest.mark.one_database
def test_systemd_takes_the_units_as_they_are_written(settings: Any, tmp_path: Path) -> None:
    """systemd-analyze(1), "verify": unknown settings, missing programs and what else systemd would warn of."""
    if not (analyze := shutil.which("systemd-analyze")):
        pytest.skip("systemd-analyze is not on this machine")
    settings.BASE_DIR, settings.DATA_DIR = tmp_path, tmp_path / ".data"
    settings.BACKUP_DIR = settings.DATA_DIR / "backups"
    (tmp_path / ".data").mkdir()
    (tmp_path / ".venv/bin").mkdir(parents=True)
    for name in ("gunicorn", "python"):
        (tmp_path / ".venv/bin" / name).touch(mode=0o755)
    said, units = StringIO(), tmp_path / "units"
    with pytest.raises(CommandError, match="is no folder"):
        call_command("units", into=units)
    units.mkdir()
    call_command("units", into=units, stdout=said)
    written = sorted(units.iterdir())
    assert said.getvalue().split() == [str(path) for path in written] and len(written) == 5
    assert not [path for path in written if "@" in path.read_text()]
    done = subprocess.run([analyze, "verify", *written], capture_output=True, text=True)
    assert (done.returncode, done.stdout + done.stderr) == (0, "")


# --- Up and ready ---------------------------------------------------------------------------------


def test_programs_that_watch_the_site_learn_that_it_is_up_and_nothing_else(
    db: None, django_assert_num_queries: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    with django_assert_num_queries(0):
        up = Client().get("/healthz")
    ready = Client().get("/readyz")
    assert (up.status_code, up.content, ready.status_code, ready.content) == (200, b"ok\n", 200, b"ready\n")
    assert "no-store" in up.headers["Cache-Control"] and up.headers["Content-Type"].startswith("text/plain")
    later = health.known_migrations() | {("accounts", "9999_a_later_one")}
    monkeypatch.setattr(health, "known_migrations", lambda: later)
    behind = Client().get("/readyz")
    assert behind.status_code == 503 and behind.content == b"not ready\n"


def test_a_database_that_is_away_makes_it_not_ready_though_up(tmp_path: Path) -> None:
    question = (
        "from django.test import Client; client = Client(SERVER_NAME='localhost');"
        "print(*[client.get(address).status_code for address in ('/healthz', '/readyz')])"
    )
    done = run(tmp_path, "shell", "--no-imports", "-c", question, DATABASE_URL="postgres://nobody@127.0.0.1:1/none")
    assert done.stdout.split() == ["200", "503"], done.stderr
