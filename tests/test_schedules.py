"""Thirty schedules of `manage.py test --schedules`, and that the tool sees what is lost, doubled or turned round."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings

from coachbook.management.commands import test as suite
from tests.schedules.faults import FAULTS

pytestmark = [pytest.mark.browser, pytest.mark.one_database]
MODULES = Path(settings.BASE_DIR) / "static" / "js" / "outbox"
CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")


def run_schedules(*words: str) -> subprocess.CompletedProcess[str]:
    """Real processes, a real browser and a database of their own."""
    if not Path(CHROMIUM).is_file():
        pytest.skip("this machine lacks Chromium or what its driver needs: manage.py test says what to type")
    kept = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
    command = [sys.executable, "-m", "tests.schedules", *words, "--chromium", CHROMIUM]
    return subprocess.run(command, env=kept, cwd=settings.BASE_DIR, capture_output=True, text=True)


def test_nothing_is_lost_doubled_or_turned_round_whatever_fails() -> None:
    done = run_schedules("30", "--seed", "2", "--kills", "10")
    assert done.returncode == 0, done.stdout + done.stderr[-2000:]
    assert "30 schedules" in done.stdout and "\n0 problems" in done.stdout


def test_every_fault_is_seen() -> None:
    done = run_schedules("20", "--seed", "1", "--faults")
    assert done.returncode == 0, done.stdout + done.stderr[-2000:]
    assert f"\n0 of {len(FAULTS)} faults not seen" in done.stdout


def test_every_fault_still_has_its_place() -> None:
    modules = [file.read_text() for file in MODULES.glob("*.js")]
    for name, places in FAULTS.items():
        for sound, broken in places:
            assert sum(module.count(sound) for module in modules) == 1 and broken != sound, name


def test_the_command_hands_its_options_on(monkeypatch: pytest.MonkeyPatch) -> None:
    calls: list[list[str]] = []
    monkeypatch.setattr("os.chdir", lambda folder: None)
    monkeypatch.setattr("os.execve", lambda *call: calls.append(call[1]))
    suite.Command().run_from_argv(["manage.py", "test", "--schedules", "100", "--kills", "20"])
    assert [call[1:] for call in calls] == [["-m", "tests.schedules", "100", "--kills", "20"]]
