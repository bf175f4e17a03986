"""Measure the program against hand-written yardsticks, on a database of its own that is thrown away."""

import uuid
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext, setup_test_environment
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Student, User
from coachbook.demo import people, year
from coachbook.demo.yardsticks import history_pair, log_pair, sheet_pair, weight
from drills.load import load_drills
from lessons.load import load_catalogue

BUSY = "Caspian Thornbury"  # the demo's student with the most to show


class Command(BaseCommand):
    """`bench`: ratios against yardsticks that return the same, queries a page, and weights."""

    help = "Measures the program against hand-written yardsticks, with sizes and seconds beside each ratio."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """`--rounds`: how often each side of a pair runs."""
        parser.add_argument("--rounds", type=int, default=9)

    def handle(self, *args: Any, rounds: int, **options: Any) -> None:
        """Make the database, measure, throw it away."""
        setup_test_environment()
        connection.creation.create_test_db(verbosity=0, autoclobber=True)
        try:
            load_catalogue()
            load_drills()
            today = timezone.localdate()
            people.fill(today)
            year.fill(today)
            self.measure(Student.objects.get(name=BUSY), rounds)
        finally:
            connection.creation.destroy_test_db(connection.settings_dict["NAME"], verbosity=0)

    def measure(self, student: Student, rounds: int) -> None:
        """Print the three tables."""
        self.stdout.write(f"{'ours / yardstick':<28}{'size':>20}{'ours':>11}{'yardstick':>11}{'ratio':>8}")
        for pair in (log_pair(student), history_pair(student), sheet_pair(student)):
            ours, yardstick = pair.measure(rounds)
            seconds = f"{ours:>10.4f}s{yardstick:>10.4f}s"
            self.stdout.write(f"{pair.name:<28}{pair.size:>20}{seconds}{ours / yardstick:>8.2f}")
        self.stdout.write(f"\n{'page':<28}{'queries':>20}{'HTML gzip':>11}{'all gzip':>11}{'seconds':>9}")
        for name, actor, address in pages(student):
            self.weigh(name, actor, address)

    def weigh(self, name: str, actor: str, address: str) -> None:
        """One page as a first visit meets it."""
        client = Client()
        client.force_login(User.objects.get(username=actor))
        client.get(address)  # templates are read once
        begin = timezone.now()
        with CaptureQueriesContext(connection) as queries:
            answer = client.get(address)
        seconds = (timezone.now() - begin).total_seconds()
        html, everything = weight(answer.content)
        self.stdout.write(
            f"{name:<28}{len(queries):>20}{html / 1024:>9.1f}KB{everything / 1024:>9.1f}KB{seconds:>9.3f}"
        )


def pages(student: Student) -> list[tuple[str, str, str]]:
    """The pages that are weighed, as (name, who looks, address)."""
    own = people.username(student.name)
    return [
        ("log, as the coach", "ida", reverse("lesson", args=[student.key, uuid.uuid4()])),
        ("student, as the coach", "ida", reverse("student", args=[student.key])),
        ("student, as themselves", own, reverse("student", args=[student.key])),
        ("today, as the student", own, reverse("today", args=[student.key])),
        ("progress, as the coach", "ida", reverse("progress", args=[student.key])),
        ("caseload, as the manager", people.username(people.MANAGER), reverse("caseload")),
    ]
