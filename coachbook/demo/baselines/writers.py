"""What a save of a log costs those who save elsewhere: how long it holds the lock, and what many wait at once.

The measure is an empty commit: one row changed by the plainest statements that the database driver takes, on the same
disk, with every commit written through.
"""

import statistics
import time
import uuid
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from functools import partial
from itertools import count
from typing import Any, NamedTuple

from django.db import DEFAULT_DB_ALIAS, connection, connections
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Academy, Student
from lessons.models import Session, Skill


class Wait(NamedTuple):
    """Seconds that saves took: their median, the 95th percentile and the longest."""

    median: float
    p95: float
    longest: float

    @classmethod
    def of(cls, seconds: list[float]) -> "Wait":
        """Of at least one save."""
        ordered = sorted(seconds)
        return cls(statistics.median(ordered), ordered[int(0.95 * (len(ordered) - 1))], ordered[-1])


class Writer:
    """A coach whose phone saves one lesson's log again and again, each time with one thing more or less."""

    def __init__(self, student: Student) -> None:
        self.client = Client()
        self.client.force_login(student.cares.select_related("coach__user")[0].coach.user)
        self.key = uuid.uuid4()
        self.address = reverse("lesson", args=[student.key, self.key])
        skill = Skill.objects.filter(area="putting", faults__archived=False)[0]
        self.fault = f"a.{skill.faults.filter(archived=False)[0].code}"
        day = Academy.current().today(timezone.now()).isoformat()
        self.typed = {"putting": "on", "day": day, "page": str(uuid.uuid4()), "note_reader": "coach"}
        self.counter = count()
        self.save()

    def save(self) -> float:
        """Save once, and the seconds until the answer; words and a fault that was seen, in turn."""
        number = next(self.counter)
        now = self.typed | {"count": str(number), "keep": f"Calm rhythm {number // 2}"}
        if number % 4 > 1:
            now[self.fault] = "clear"
        begin = time.perf_counter()
        answer = self.client.post(self.address, now, headers={"HX-Request": "true"})
        seconds = time.perf_counter() - begin
        if answer.status_code not in (200, 201):
            raise AssertionError(f"{self.address}: {answer.status_code}")
        return seconds

    def save_often(self, times: int) -> list[float]:
        """The seconds of so many saves; in a thread of its own, whose connection is closed then."""
        try:
            return [self.save() for _ in range(times)]
        finally:
            connections.close_all()


def lock_held(student: Student, rounds: int) -> tuple[list[float], list[float]]:
    """The seconds for which each save holds the lock, and those of as many empty commits, in turn."""
    writer, ours, empty = Writer(student), [], []
    for _ in range(rounds):
        with timed_transactions() as held:
            writer.save()
        ours += held
        empty.append(empty_commit(writer.key))
    return ours, empty


@contextmanager
def timed_transactions() -> Iterator[list[float]]:
    """Collect how long each transaction of this thread lasts, from the moment it may write to its commit."""
    held: list[float] = []
    begun = [0.0]
    begin, commit = connection.set_autocommit, connection.commit

    def timed_begin(autocommit: bool, **more: Any) -> None:
        begin(autocommit, **more)
        begun[0] = time.perf_counter()

    def timed_commit() -> None:
        commit()
        held.append(time.perf_counter() - begun[0])

    vars(connections[DEFAULT_DB_ALIAS]).update(set_autocommit=timed_begin, commit=timed_commit)
    try:
        yield held
    finally:
        for name in ("set_autocommit", "commit"):
            del vars(connections[DEFAULT_DB_ALIAS])[name]


def empty_commit(key: uuid.UUID) -> float:
    """The seconds in which one row is changed, by statements that the driver takes as they are."""
    pk = Session.objects.get(lessons__key=key).pk
    driver, begin = connection.connection, time.perf_counter()
    driver.execute("BEGIN IMMEDIATE" if connection.vendor == "sqlite" else "BEGIN")
    # Another value each time: SQLite writes nothing where nothing changes.
    driver.execute(f"update lessons_session set planned_minutes = planned_minutes % 600 + 1 where id = {pk}")  # nosec B608 # a number
    driver.execute("COMMIT")
    return time.perf_counter() - begin


def waits(students: list[Student], rounds: int) -> tuple[Wait, Wait]:
    """What one writer waits alone, and what all of these wait who save at once."""
    writers = [Writer(student) for student in students]
    alone = Wait.of([writers[0].save() for _ in range(rounds)])
    with ThreadPoolExecutor(len(writers)) as threads:
        found = list(threads.map(partial(Writer.save_often, times=rounds), writers))
    return alone, Wait.of([seconds for each in found for seconds in each])
