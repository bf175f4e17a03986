"""Fifty people at once for a minute, each on their own pages and some of them saving, over gunicorn on loopback."""

import http.client
import os
import statistics
import subprocess
import sys
import time
import uuid
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from importlib.util import find_spec
from itertools import count, cycle
from typing import NamedTuple
from urllib.parse import urlencode

from django.conf import settings
from django.core.management.base import CommandError
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Academy, Coach, Student, User

PEOPLE, SECONDS = 50, 60
EMPTY_SECONDS = 10
EMPTY = "/healthz"
SAVES = 5  # every fifth request of a coach saves a log


class Result(NamedTuple):
    """What came of a load: answers a second, answers that were none of ours, and how long people waited."""

    per_second: float
    errors: int
    median: float
    p95: float


class Person:
    """Somebody with a browser of their own, who asks for one page after the other."""

    def __init__(self, user: User, addresses: list[str], student: Student | None = None) -> None:
        client = Client()
        client.force_login(user)
        self.token = "x" * 32  # the double submission: the same in cookie and form
        session = client.cookies[settings.SESSION_COOKIE_NAME].value
        self.headers = {
            "Cookie": f"{settings.SESSION_COOKIE_NAME}={session}; {settings.CSRF_COOKIE_NAME}={self.token}",
        }
        self.pages, self.counter = cycle(addresses), count(1)
        self.log = reverse("lesson", args=[student.key, uuid.uuid4()]) if student else ""
        day = Academy.current().today(timezone.now()).isoformat()
        self.typed = {
            "putting": "on", "day": day, "page": str(uuid.uuid4()), "note_reader": "coach",
            "csrfmiddlewaretoken": self.token,
        }  # fmt: skip

    def ask_until(self, end: float, port: int, empty: bool) -> tuple[list[float], int]:
        """Ask again and again until a moment; the seconds of each answer, and how many were errors."""
        seconds, errors = [], 0
        while time.monotonic() < end:
            begin = time.perf_counter()
            errors += not self.ask(port, empty)
            seconds.append(time.perf_counter() - begin)
        return seconds, errors

    def ask(self, port: int, empty: bool) -> bool:
        """One request; whether its answer is a page, or says that the log is saved."""
        number = next(self.counter)
        server = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        try:
            if self.log and not empty and not number % SAVES:
                typed = urlencode({**self.typed, "count": str(number), "keep": f"Calm rhythm {number}"})
                form = {"Content-Type": "application/x-www-form-urlencoded", "HX-Request": "true"}
                server.request("POST", self.log, typed, {**self.headers, **form})
            else:
                server.request("GET", EMPTY if empty else next(self.pages), headers=self.headers)
            answer = server.getresponse()
            answer.read()
            return answer.status in (200, 201)
        except OSError:
            return False
        finally:
            server.close()


def everybody() -> list[Person]:
    """Fifty people: students on their own pages, then coaches, who also save. Raises ValueError for fewer."""
    students = Student.objects.filter(user__is_active=True).select_related("user").order_by("pk")
    coaches = Coach.objects.filter(user__is_active=True, user__is_manager=False).select_related("user").order_by("pk")
    found = [Person(student.user, own_pages(student)) for student in students[: PEOPLE // 2] if student.user]
    for coach in coaches:
        student = Student.objects.filter(cares__coach=coach, cares__role="main").order_by("pk")[0]
        found.append(Person(coach.user, [reverse("day"), reverse("attention"), *own_pages(student)], student))
    if len(found) < PEOPLE:
        raise ValueError(f"{len(found)} people are too few")
    return found[:PEOPLE]


def own_pages(student: Student) -> list[str]:
    """The pages about one student that student and coach both read."""
    return [reverse(name, args=[student.key]) for name in ("student", "progress")]


def load(people: list[Person], port: int, seconds: float, empty: bool) -> Result:
    """Let all of them ask at once, each waiting for the last answer before asking for the next."""
    begin = time.monotonic()
    with ThreadPoolExecutor(len(people)) as threads:
        found = list(threads.map(lambda person: person.ask_until(begin + seconds, port, empty), people))
    waited = sorted(each for times, _ in found for each in times)
    taken = time.monotonic() - begin
    errors = sum(wrong for _, wrong in found)
    return Result(len(waited) / taken, errors, statistics.median(waited), waited[int(0.95 * (len(waited) - 1))])


@contextmanager
def served(port: int) -> Iterator[None]:
    """The site on loopback, by gunicorn as its unit starts it, with the database of this process."""
    words = [sys.executable, "-m", "gunicorn", "--config", "coachbook/operations/gunicorn_conf.py"]
    words += ["--bind", f"127.0.0.1:{port}", "--access-logfile", os.devnull, "coachbook.wsgi"]
    environment = {**os.environ, "DATABASE_URL": address_of_database(), "SECRET_KEY": settings.SECRET_KEY}
    if not find_spec("gunicorn"):
        raise CommandError("gunicorn is missing: pip install -r coachbook/operations/requirements.txt")
    process = subprocess.Popen(words, env=environment, cwd=settings.BASE_DIR, stderr=subprocess.DEVNULL)
    try:
        wait_for(port)
        yield
    finally:
        process.terminate()
        process.wait()


def address_of_database() -> str:
    """DATABASE_URL of the database that this process is connected to."""
    name = str(connection.settings_dict["NAME"])
    if connection.vendor == "sqlite":
        return f"sqlite:///{name}"
    return f"{os.environ['DATABASE_URL'].rpartition('/')[0]}/{name}"


def wait_for(port: int) -> None:
    """Wait until the site answers. Raises TimeoutError after half a minute."""
    deadline = time.monotonic() + 30
    while time.monotonic() < deadline:
        try:
            http.client.HTTPConnection("127.0.0.1", port, timeout=5).request("GET", EMPTY)
            return
        except OSError:
            time.sleep(0.2)
    raise TimeoutError("gunicorn does not answer")
