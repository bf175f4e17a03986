"""Settings: none needed at home, strict in production, and all of them written down."""

import os
import re
import secrets
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.db import connection

from coachbook.checks import site_address_is_ours

ROOT = Path(settings.BASE_DIR)
GOOD = {"ALLOWED_HOSTS": "book.example", "SECRET_KEY": secrets.token_urlsafe(50), "EMAIL_HOST": "localhost"}


def start(tmp_path: Path, *words: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """A fresh process of the site with just these settings."""
    clean = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
    command = [sys.executable, str(ROOT / "manage.py"), *(words or ("check",))]
    return subprocess.run(
        command, env={**clean, "DATA_DIR": str(tmp_path), **environment}, capture_output=True, text=True
    )


def test_at_home_nothing_needs_to_be_set(tmp_path: Path) -> None:
    assert start(tmp_path).returncode == 0
    assert (tmp_path / "secret_key").stat().st_mode & 0o777 == 0o600


@pytest.mark.parametrize(
    "weak", [{"SECRET_KEY": ""}, {"SECRET_KEY": "x" * 49}, {"SECRET_KEY": "x" * 60}, {"DEBUG": "1"}], ids=str
)
def test_production_does_not_start_weak(weak: dict[str, str], tmp_path: Path) -> None:
    answer = start(tmp_path, **{**GOOD, **weak})
    assert answer.returncode != 0 and "ImproperlyConfigured" in answer.stderr


def test_production_passes_djangos_deployment_checks(tmp_path: Path) -> None:
    """Django's own list: docs, "Deployment checklist", run as `check --deploy`."""
    answer = start(tmp_path, "check", "--deploy", "--fail-level", "WARNING", **GOOD)
    assert answer.returncode == 0, answer.stderr
    assert "(0 silenced)" in answer.stdout + answer.stderr


@pytest.mark.parametrize(
    ("hosts", "address", "is_fine"),
    [
        ("book.example", "", True),
        ("book.example,www.book.example", "https://www.book.example/", True),
        (".book.example", "https://sub.book.example", True),
        (".book.example", "", False),
        ("*", "", False),
        ("book.example", "https://elsewhere.example", False),
        ("book.example", "http://book.example", False),
        ("book.example", "book.example", False),
    ],
)
def test_links_in_mails_lead_to_one_address_of_our_own(hosts: str, address: str, is_fine: bool, settings: Any) -> None:
    settings.PRODUCTION, settings.ALLOWED_HOSTS = True, hosts.split(",")
    settings.SITE_ADDRESS = address or f"https://{settings.ALLOWED_HOSTS[0]}"
    assert [message.id for message in site_address_is_ours()] == ([] if is_fine else ["coachbook.E001"])


def test_a_wrong_address_stops_the_start(tmp_path: Path) -> None:
    answer = start(tmp_path, **{**GOOD, "SITE_ADDRESS": "https://elsewhere.example"})
    assert answer.returncode != 0 and "coachbook.E001" in answer.stderr


def test_nonsense_in_a_setting_is_loud(tmp_path: Path) -> None:
    assert start(tmp_path, PROXY_COUNT="many").returncode != 0


def test_every_setting_is_in_the_guide() -> None:
    read = set(re.findall(r'env\.\w+\(\s*"(\w+)"', (ROOT / "coachbook/settings.py").read_text()))
    told = set(re.findall(r"^\| `([A-Z_]+)` \|", (ROOT / "DEVELOPERS.md").read_text(), re.MULTILINE))
    assert read == told


def test_sqlite_keeps_what_it_acknowledged(db: None) -> None:
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            assert cursor.execute("PRAGMA journal_mode").fetchone() == ("wal",)
            assert cursor.execute("PRAGMA synchronous").fetchone() == (2,)  # 2 is FULL: sqlite.org/pragma.html
    assert connection.vendor in ("sqlite", "postgresql")
