"""A few of the kills of `manage.py test --kills`, and that the tool would see what is lost, doubled or half stored."""

import os
import subprocess
import sys
from typing import Any

import pytest
from django.conf import settings

from coachbook.management.commands import test as suite
from tests.kills.deeds import Deed, Post

ONE, BOTH = [("draft", "Calm")], [("draft", "Calm"), ("draft", "Calm")]


@pytest.mark.one_database
def test_a_site_killed_while_people_write_keeps_what_it_said_is_saved() -> None:
    """Real processes, files and requests, in a database of their own."""
    kept = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
    words = [sys.executable, "-m", "tests.kills", "--kills", "5", "--seed", "2"]
    done = subprocess.run(words, env=kept, cwd=settings.BASE_DIR, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "5 kills" in done.stdout and "\n0 problems" in done.stdout


@pytest.mark.parametrize(
    ("said", "is_waiting", "stored", "problem"),
    [
        (1, False, ONE, ""),
        (1, False, [], "lost"),
        (1, False, BOTH, "not what was sent"),
        (1, True, ONE, ""),
        (1, True, [("complete", "Calm")], ""),
        (1, True, [("complete", "")], "not what was sent"),
        (2, False, ONE, "lost"),
        (0, True, [], ""),
        (0, False, ONE, "not what was sent"),
    ],
    ids=str,
)
def test_what_is_stored_is_what_was_answered_or_the_post_in_flight_as_a_whole(
    said: int, is_waiting: bool, stored: list[Any], problem: str
) -> None:
    posts = [Post("/here/", {}, ONE), Post("/here/", {}, [("complete", "Calm")])]
    found = Deed("log", posts, lambda: stored, said, is_waiting).problem()
    assert found.startswith(problem) and bool(found) == bool(problem)


def test_the_command_hands_its_options_and_the_database_on(monkeypatch: pytest.MonkeyPatch) -> None:
    calls: list[tuple[Any, ...]] = []
    monkeypatch.setattr("os.chdir", lambda folder: None)
    monkeypatch.setattr("os.execve", lambda *call: calls.append(call))
    monkeypatch.setattr(suite, "answering_postgres", lambda given: "postgres:///here")
    for words in (["--kills", "--postgres", "--kills=3"], ["--kills"]):
        suite.Command().run_from_argv(["manage.py", "test", *words])
    (_, first, on_postgres), (_, second, on_sqlite) = calls
    assert first[1:] == ["-m", "tests.kills", "--kills=3"] and second[1:] == ["-m", "tests.kills"]
    assert on_postgres["DATABASE_URL"] == "postgres:///here" and "DATABASE_URL" not in on_sqlite
