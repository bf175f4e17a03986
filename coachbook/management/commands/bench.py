"""Measure the program against hand-written baselines, on a database of its own that is thrown away."""

import socket
import statistics
import time
import uuid
from argparse import ArgumentParser
from collections.abc import Callable, Iterable
from datetime import date
from typing import Any, NamedTuple

from django.core.management.base import BaseCommand
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext, setup_test_environment
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Academy, Student, User
from coachbook.caseload.findings.views import months_before
from coachbook.demo import crowd, days, people, scored_tests, year
from coachbook.demo.baselines import browser, load, tenfold
from coachbook.demo.baselines.loop import Pair, history_pair, log_pair, sheet_pair, weight
from coachbook.demo.baselines.progress import academy_pair, judged_pair, scans
from coachbook.demo.baselines.putting import fit_pair, plain_fit_pair, posterior_pair
from coachbook.demo.baselines.sentence import sentence_pair
from coachbook.demo.baselines.writers import lock_held, waits
from coachbook.diary.models import Appointment
from drills.load import load_drills
from lessons.derived import recompute_all, recompute_for_lesson
from lessons.history import fault_histories
from lessons.load import load_catalogue
from lessons.models import MonthCount, Outcome

BUSY = "Caspian Thornlace"  # the demo's student with the most to show
REGULAR = crowd.Size(students=1, lessons=300, skills=20)
WRITERS = 16
MOST_LOCK = 8  # times an empty commit that a save may hold the lock
# Of the processor time of scipy's fits: half of what the results page took when each of its parts was worked out alone.
MOST_RESULTS = 0.28
MANAGER = people.username(people.MANAGER)


class Page(NamedTuple):
    """A page as a first visit meets it."""

    queries: int
    content: bytes
    seconds: float


class Command(BaseCommand):
    """`bench`: ratios against baselines that return the same, queries a page, and weights."""

    help = "Measures the program against hand-written baselines, with sizes and seconds beside each ratio."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """`--rounds`: how often each side of a pair runs; what else is measured, in some minutes each."""
        parser.add_argument("--rounds", type=int, default=9)
        parser.add_argument("--large", action="store_true", help="a large academy")
        parser.add_argument("--growth", action="store_true", help="ten times the data, and fifty people for a minute")

    def handle(self, *args: Any, rounds: int, large: bool, growth: bool, **options: Any) -> None:
        """Make the database, measure, throw it away."""
        setup_test_environment()
        connection.creation.create_test_db(verbosity=0, autoclobber=True)
        try:
            load_catalogue()
            load_drills()
            today = Academy.current().today(timezone.now())
            people.fill(today)
            year.fill(today)
            scored_tests.fill(today)
            if growth:
                days.fill(today, timezone.now())
                return self.grow(Student.objects.get(name=BUSY), today, rounds)
            regular = crowd.add_regular(today, REGULAR)
            self.measure(Student.objects.get(name=BUSY), regular, rounds)
            if large:
                self.enlarge(regular, today, rounds)
        finally:
            connection.creation.destroy_test_db(connection.settings_dict["NAME"], verbosity=0)

    def measure(self, student: Student, regular: Student, rounds: int) -> None:
        """Print the tables of the demo's academy."""
        self.compare((log_pair(student), history_pair(student), judged_pair(regular), sheet_pair(student)), rounds)
        self.compare((fit_pair(), plain_fit_pair(), posterior_pair()), rounds)
        self.weigh_results(student, rounds)
        self.write_waits(student, rounds)
        self.stdout.write(f"\n{'page':<28}{'queries':>20}{'HTML gzip':>11}{'all gzip':>11}{'seconds':>9}")
        for name, actor, address in pages(student):
            self.weigh(name, actor, address)
        self.open_on_a_phone(student)
        self.compare([sentence_pair(student)], rounds)  # which fills the catalogue with skills, so it comes last

    def compare(self, pairs: Iterable[Pair], rounds: int) -> None:
        """Print one line for each pair."""
        self.stdout.write(f"{'ours / baseline':<28}{'size':>20}{'ours':>11}{'baseline':>11}{'ratio':>8}")
        for pair in pairs:
            ours, baseline = pair.measure(rounds)
            seconds = f"{ours:>10.4f}s{baseline:>10.4f}s"
            self.stdout.write(f"{pair.name:<28}{pair.size:>20}{seconds}{ours / baseline:>8.2f}")

    def weigh_results(self, student: Student, rounds: int, actor: str = "ida") -> None:
        """Print the processor time of a coach's page of test results beside that of scipy's fits of ten students."""
        client, address = Client(), reverse("test_results", args=[student.key])
        client.force_login(User.objects.get(username=actor))
        ours, baseline = (
            processor_seconds(work, rounds) for work in (lambda: client.get(address), plain_fit_pair().baseline)
        )
        size = f"{student.scored_tests.done().count()} tests"
        self.stdout.write(f"{'test results, processor':<28}{size:>20}", ending="")
        self.stdout.write(f"{ours:>10.4f}s{baseline:>10.4f}s{ours / baseline:>8.2f}  at most {MOST_RESULTS}")

    def write_waits(self, student: Student, rounds: int) -> None:
        """Print for how long a save holds the lock, and what many wait who save at once."""
        held, empty = lock_held(student, 4 * rounds)
        ours, baseline = statistics.median(held), statistics.median(empty)
        self.stdout.write(f"{'lock held / empty commit':<28}{f'{len(held)} saves':>20}", ending="")
        self.stdout.write(f"{ours:>10.4f}s{baseline:>10.4f}s{ours / baseline:>8.2f}  at most {MOST_LOCK}")
        alone, together = waits(
            list(Student.objects.filter(cares__role="main").distinct()[:WRITERS]), max(1, rounds // 3)
        )
        self.stdout.write(f"\n{f'{WRITERS} writers at once':<28}{'seconds':>20}{'/ alone':>21}{'/ empty commit':>21}")
        for name, seconds in zip(together._fields, together, strict=True):
            ratios = f"{seconds / alone.median:>20.1f}{seconds / baseline:>20.1f}"
            self.stdout.write(f"  {name:<26}{seconds:>20.4f} {ratios}")

    def weigh(self, name: str, actor: str, address: str) -> None:
        """Print one line for a page."""
        page = visit(actor, address)
        html, everything = (f"{size / 1024:>9.1f}KB" for size in weight(page.content))
        self.stdout.write(f"{name:<28}{page.queries:>20}{html}{everything}{page.seconds:>9.3f}")

    def open_on_a_phone(self, student: Student) -> None:
        """Print what the log page weighs and takes on Slow 4G with a slower processor, and without a network."""
        if why := browser.problem():
            self.stdout.write(f"\nnot opened on a phone: {why}")
            return
        coach = User.objects.get(username="ida")
        visit_now = Appointment(coach=coach.coach, starts_at=timezone.now(), minutes=60, made_by=coach)
        visit_now.save()
        visit_now.students.add(student)
        with browser.served() as site:
            found = browser.on_a_phone(site, "ida", reverse("lesson_new", args=[student.key]))
        self.stdout.write(
            f"\n{'log, phone, Slow 4G, / 4':<26}{'all':>9}{'scripts':>9}{'later':>9}{'paint':>8}{'shift':>7}"
        )
        for name, row, most in (("first visit", found.first, "100 and 40 KB"), ("repeat visit", found.again, "15 KB")):
            weights = "".join(f"{size:>7.1f}KB" for size in (row.all_kb, row.script_kb, row.later_kb))
            self.stdout.write(f"  {name:<24}{weights}{row.paint:>7.2f}s{row.shift:>7.3f}  at most {most}, 1.2 s, 0")
        taken = f"{statistics.median(found.taps):>35.0f}ms{max(found.taps):>5.0f}ms"
        self.stdout.write(
            f"  {'tap to saved on phone':<24}{taken}  median and longest of {len(found.taps)}, at most 100 ms"
        )
        self.stdout.write(f"  {'no network, cold':<24}{found.start:>34.2f}s  at most 2 s")

    def enlarge(self, regular: Student, today: date, rounds: int) -> None:
        """Print the tables of a large academy, and one student's page beside the same page in the small one."""
        address, size = reverse("progress", args=[regular.key]), crowd.Size()
        small = visit("ida", address)
        self.stdout.write(f"\n{'a large academy':<28}{size!s:>47}")
        self.clock("written", lambda: crowd.add_crowd(today, size))
        self.clock("recomputed, all", recompute_all)
        self.stdout.write(f"  {Outcome.objects.count():,} outcomes, {MonthCount.objects.count():,} counts of a month")
        last = regular.lessons.latest("session__starts_at")
        self.clock(f"recomputed, one of {regular.lessons.count()} lessons", lambda: recompute_for_lesson(last))
        self.compare((academy_pair(today, months_before(today, 12)), academy_pair(today, None)), rounds)
        for months in ("12", "all"):
            page = visit(MANAGER, f"{reverse('academy_progress')}?months={months}")
            self.stdout.write(f"academy page, {months:<14}{page.queries:>20} queries{page.seconds:>9.3f}s")
        self.beside(small, visit("ida", address), scans(lambda: fault_histories(regular)))

    def grow(self, student: Student, today: date, rounds: int) -> None:
        """Print what pages about one student or coach cost at ten times the data, then what fifty people get."""
        addresses = {name: (actor, address) for name, actor, address in pages_about_one(student)}
        before = tenfold.rows()
        found = tenfold.compare(
            list(addresses),
            lambda name: measured(*addresses[name], rounds),
            lambda: tenfold.grow(today, timezone.now()),
        )
        after = tenfold.rows()
        self.stdout.write(", ".join(f"{name} {before[name]:,} to {after[name]:,}" for name in before))
        self.stdout.write(f"{'page, data x 10':<28}{'queries':>20}{'before':>11}{'after':>11}{'ratio':>8}")
        for page in found:
            queries, (small, large) = " and ".join(map(str, sorted(set(page.queries)))), page.seconds
            seconds = f"{small:>10.4f}s{large:>10.4f}s{page.ratio:>8.2f}"
            self.stdout.write(f"{page.name:<28}{queries:>20}{seconds}  at most {tenfold.MOST}")
        self.crowd_in()

    def crowd_in(self) -> None:
        """Print what fifty people get at once, beside the same people on an empty page."""
        people, port = load.everybody(), free_port()
        with load.served(port):
            empty = load.load(people, port, load.EMPTY_SECONDS, empty=True)
            full = load.load(people, port, load.SECONDS, empty=False)
        self.stdout.write(
            f"\n{f'{len(people)} people at once':<28}{'a second':>20}{'errors':>11}{'median':>11}{'p95':>8}"
        )
        for name, found in (("an empty page", empty), (f"their pages, {load.SECONDS} s", full)):
            waited = f"{found.median:>10.3f}s{found.p95:>7.3f}s"
            self.stdout.write(f"{name:<28}{found.per_second:>20.1f}{found.errors:>11}{waited}")
        self.stdout.write(f"share of an empty page's throughput: {full.per_second / empty.per_second:.3f}")

    def beside(self, small: Page, large: Page, scanned: list[str]) -> None:
        """Print what a student's page costs in either academy."""
        self.stdout.write(f"\n{'progress of the same student':<28}{'queries':>20}{'seconds':>9}")
        for name, page in (("in the small academy", small), ("in the large academy", large)):
            self.stdout.write(f"{name:<28}{page.queries:>20}{page.seconds:>9.3f}")
        self.stdout.write(f"gone through from end to end: {', '.join(scanned) or 'nothing'}")

    def clock(self, name: str, work: Callable[[], object]) -> None:
        """Do something once and print how long it took."""
        begin = time.perf_counter()
        work()
        self.stdout.write(f"{name:<28}{time.perf_counter() - begin:>46.3f}s")


def processor_seconds(work: Callable[[], object], rounds: int) -> float:
    """The least time of the processor that some work took, once it has been done before."""
    work()
    taken = []
    for _ in range(rounds):
        begin = time.process_time()
        work()
        taken.append(time.process_time() - begin)
    return min(taken)


def visit(actor: str, address: str) -> Page:
    """A page as somebody meets it who comes for the first time, once its templates are read: the quickest of three."""
    client = Client()
    client.force_login(User.objects.get(username=actor))
    client.get(address)
    return min((meet(client, address) for _ in range(3)), key=lambda page: page.seconds)


def measured(actor: str, address: str, rounds: int) -> tuple[int, float]:
    """How often a page asks the database, and the least seconds of so many first visits.

    Of the processor where the database is in this process: what else the machine does is no matter then.
    """
    clock = time.process_time if connection.vendor == "sqlite" else time.perf_counter
    client = Client()
    client.force_login(User.objects.get(username=actor))
    client.get(address)
    queries, taken = meet(client, address).queries, []
    for _ in range(rounds):
        begin = clock()
        client.get(address)
        taken.append(clock() - begin)
    return queries, min(taken)


def free_port() -> int:
    """A port of loopback that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
    return port


def pages_about_one(student: Student) -> list[tuple[str, str, str]]:
    """The pages about one student or one coach, as (name, who looks, address)."""
    coach = User.objects.get(username="ida")
    return [
        *(page for page in pages(student) if page[1] != MANAGER),
        ("day, as the coach", "ida", reverse("day")),
        ("week, as the coach", "ida", reverse("week")),
        ("attention, as the coach", "ida", reverse("attention")),
        ("students, as the coach", "ida", reverse("students")),
        ("one coach, as the manager", MANAGER, reverse("coach_caseload", args=[coach.key])),
    ]


def meet(client: Client, address: str) -> Page:
    """A page, met once. Raises AssertionError if there is none."""
    begin = time.perf_counter()
    with CaptureQueriesContext(connection) as queries:
        answer = client.get(address)
    if answer.status_code != 200:
        raise AssertionError(f"{address}: {answer.status_code}")
    return Page(len(queries), answer.content, time.perf_counter() - begin)


def pages(student: Student) -> list[tuple[str, str, str]]:
    """The pages that are weighed, as (name, who looks, address)."""
    own, finished = people.username(student.name), student.lessons.complete().latest_first()[0]
    return [
        ("log, as the coach", "ida", reverse("lesson", args=[student.key, uuid.uuid4()])),
        ("record, as the coach", "ida", reverse("lesson", args=[student.key, finished.key])),
        ("search, as the coach", "ida", reverse("lesson_search", args=[student.key]) + "?q=ball"),
        ("student, as the coach", "ida", reverse("student", args=[student.key])),
        ("student, as themselves", own, reverse("student", args=[student.key])),
        ("today, as the student", own, reverse("today", args=[student.key])),
        ("brief, as the coach", "ida", reverse("brief", args=[student.key])),
        ("progress, as the coach", "ida", reverse("progress", args=[student.key])),
        ("progress, as themselves", own, reverse("progress", args=[student.key])),
        ("caseload, as the manager", MANAGER, reverse("caseload")),
        ("academy, as the manager", MANAGER, reverse("academy_progress")),
    ]
