"""Where CACHE_URL names a Redis-compatible server, tries and forms are counted there, for all processes together.

Held against a real server on loopback: Debian's redis-server.
"""

import json
import os
import shutil
import socket
import subprocess
import sys
import time
import uuid
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.conf import settings as site_settings
from django.core.cache import caches
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.throttle import is_within
from tests.conftest import Cast
from tests.make import PASSWORD
from tests.test_sign_in_limits import ADDRESSES, guess, sign_in

pytestmark = pytest.mark.one_database


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@pytest.fixture
def server(settings: Any, tmp_path: Any) -> Iterator[subprocess.Popen[bytes]]:
    """A server of its own, which the site is set to; it writes nothing to the disk."""
    program = shutil.which("redis-server") or shutil.which("valkey-server")
    if not program:
        pytest.skip("no redis-server: apt-get install redis-server")
    port = free_port()
    words = [program, "--bind", "127.0.0.1", "--port", str(port), "--save", "", "--dir", str(tmp_path)]
    process = subprocess.Popen(words, stdout=subprocess.DEVNULL)
    settings.CACHE_URL = f"redis://127.0.0.1:{port}/0"
    settings.CACHES = caches_of(settings.CACHE_URL)
    wait_for(port)
    yield process
    process.kill()
    process.wait()


def wait_for(port: int) -> None:
    deadline = time.monotonic() + 20
    while time.monotonic() < deadline:
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                return
        time.sleep(0.05)
    raise TimeoutError("the server does not answer")


def caches_of(url: str) -> Any:
    """The caches as the settings make them for a server: read in a process of its own, since these are the tests'."""
    words = "import json; from coachbook import settings; print(json.dumps(settings.CACHES))"
    return json.loads(run(words, url))


def run(words: str, url: str, *given: str) -> str:
    environment = {**os.environ, "DJANGO_SETTINGS_MODULE": "coachbook.settings", "CACHE_URL": url}
    done = subprocess.run(
        [sys.executable, "-c", words, *given],
        env=environment,
        cwd=site_settings.BASE_DIR,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


# Another worker, or another machine: it knows nothing but the settings.
ANOTHER = """
import django, sys
django.setup()
from django.core.cache import cache
from django.utils import timezone
from coachbook.accounts.models import User
from coachbook.throttle import is_within
from datetime import datetime
user, at = User(key=sys.argv[1]), datetime.fromisoformat(sys.argv[2])
print(is_within(5, "all", user, at), cache.get("told"))
"""


def test_workers_count_together(cast: Cast, server: Any, settings: Any) -> None:
    at, user = timezone.now(), cast.coach.user
    caches["default"].set("told", "by the first", 60)
    assert [is_within(5, "all", user, at) for _ in range(4)] == [True] * 4
    said = [run(ANOTHER, settings.CACHE_URL, str(user.key), at.isoformat()) for _ in range(2)]
    assert said == ["True by the first\n", "False by the first\n"]
    assert not is_within(5, "all", user, at)


def test_wrong_passwords_are_counted_and_nothing_but_time_forgets_them(cast: Cast, server: Any) -> None:
    name = cast.student.user.username
    guess(name, 5)
    for number in range(700):
        caches["default"].set(f"other{number}", number, 300)
    assert not sign_in(Client(), name, PASSWORD, ADDRESSES["strange"])
    assert sign_in(Client(), name, PASSWORD, ADDRESSES["own"])


def test_a_server_that_is_away_is_said_so_and_nothing_is_saved(
    cast: Cast, as_: Callable[[str], Client], server: Any
) -> None:
    """Who is signed in goes on reading; a form comes back with all that was typed."""
    client = as_("coach")
    assert client.get(reverse("students")).status_code == 200
    server.kill()
    server.wait()
    assert client.get(reverse("students")).status_code == 200
    written = client.post(reverse("message_write", args=[cast.student.key, uuid.uuid4()]), {"text": "What I wanted"})
    assert written.status_code == 503 and "What I wanted" in written.content.decode()
    signing_in = Client(raise_request_exception=False)
    typed = {"login": cast.student.user.username, "password": PASSWORD}
    assert signing_in.post(reverse("account_login"), typed).status_code == 503
