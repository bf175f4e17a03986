"""The served site, in processes of its own that are killed together, and a person with a browser in front of it."""

import http.client
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Mapping
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlencode

from tests.make import PASSWORD

ROOT = Path(__file__).resolve().parents[2]
GUNICORN = [sys.executable, "-m", "gunicorn", "--config", "coachbook/operations/gunicorn_conf.py"]
TOKEN = "c" * 32
SIGN_IN = "/account/login/"
STARTS_WITHIN = 120  # seconds; a machine that others use, too, takes long


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@dataclass
class Server:
    """gunicorn as its unit starts it, but for the port and the number of its workers."""

    port: int
    workers: int
    log: Path

    def start(self) -> None:
        """Start it as a group of processes, and wait until it answers."""
        words = [*GUNICORN, f"--bind=127.0.0.1:{self.port}", f"--workers={self.workers}", "coachbook.wsgi"]
        with self.log.open("ab") as log:
            self.process = subprocess.Popen(words, cwd=ROOT, stdout=log, stderr=log, start_new_session=True)
        deadline = time.monotonic() + STARTS_WITHIN
        while not self.is_up():
            if self.process.poll() is not None or time.monotonic() > deadline:
                self.kill()
                raise RuntimeError(f"The site did not start: {self.log.read_text()[-2000:]}")
            time.sleep(0.05)

    def is_up(self) -> bool:
        """Whether the site says that it runs."""
        try:
            return Person("", self.port).ask("GET", "/healthz").status == 200
        except OSError:
            return False

    def kill(self) -> None:
        """End all of its processes at once; none is asked."""
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()


@dataclass(frozen=True)
class Answer:
    """What came back: the status, and where it leads."""

    status: int
    to: str = ""

    @property
    def is_yes(self) -> bool:
        """Whether it tells the person that what they sent is saved."""
        return 200 <= self.status < 400 and SIGN_IN not in self.to


@dataclass
class Person:
    """Somebody with a browser, signed in or not."""

    username: str
    port: int
    cookies: dict[str, str] = field(default_factory=lambda: {"csrftoken": TOKEN})

    def ask(self, method: str, address: str, typed: Mapping[str, object] | None = None) -> Answer:
        """The answer; OSError where none came."""
        headers = {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}
        if typed is not None:
            headers |= {"X-CSRFToken": TOKEN, "Content-Type": "application/x-www-form-urlencoded"}
        with closing(http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)) as line:
            try:
                line.request(method, address, urlencode(typed or {}, doseq=True), headers)
                found = line.getresponse()
            except http.client.HTTPException as broken:  # some of the answer came, and no status
                raise ConnectionError(str(broken)) from broken
            self.keep_session(found)
            return Answer(found.status, found.headers.get("Location", ""))

    def keep_session(self, found: http.client.HTTPResponse) -> None:
        """Keep the cookie of a session, as a browser does."""
        for line in found.headers.get_all("Set-Cookie") or ():
            name, _, value = line.partition(";")[0].partition("=")
            if name == "sessionid":
                self.cookies[name] = value

    def sign_in(self) -> None:
        """A new session, by name and password."""
        self.cookies.pop("sessionid", None)
        answer = self.ask("POST", SIGN_IN, {"login": self.username, "password": PASSWORD})
        if not answer.is_yes or "sessionid" not in self.cookies:
            raise RuntimeError(f"{self.username} cannot sign in: {answer}")
