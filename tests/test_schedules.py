"""Thirty schedules of `manage.py test --schedules`, and that the tool sees what is lost, doubled or turned round."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings

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
    done = run_schedules("30", "--seed", "2")
    assert done.returncode == 0, done.stdout + done.stderr[-2000:]
    assert "30 schedules" in done.stdout and "\n0 problems" in done.stdout


@pytest.mark.parametrize("fault", ["forgotten before it is sent", "no lock"])
def test_a_fault_is_seen(fault: str) -> None:
    """The others are seen by more schedules: `--fault NAME`."""
    done = run_schedules("30", "--seed", "1", "--stop", "--fault", fault)
    assert done.returncode == 1 and "\n1 problems" in done.stdout, done.stdout + done.stderr[-2000:]


def test_every_fault_still_has_its_place() -> None:
    modules = [file.read_text() for file in MODULES.glob("*.js")]
    for name, (sound, broken) in FAULTS.items():
        assert sum(module.count(sound) for module in modules) == 1 and broken != sound, name
