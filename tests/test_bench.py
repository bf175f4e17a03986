"""The bench measures like with like: each baseline returns what the program returns. No time is asserted here."""

import re
from datetime import date, timedelta
from io import StringIO
from typing import Any
from urllib.parse import urlsplit

import pytest
from django.contrib.sessions.models import Session
from django.db import connection, connections
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Coach, Student
from coachbook.caseload.findings.views import months_before
from coachbook.demo import crowd
from coachbook.demo.baselines import load, tenfold
from coachbook.demo.baselines.loop import Pair
from coachbook.demo.baselines.progress import academy_pair, history_rows, judged_pair, scans
from coachbook.demo.baselines.sentence import SKILLS, sentence_pair
from coachbook.demo.baselines.writers import lock_held, waits
from coachbook.management.commands.bench import MOST_RESULTS, Command, measured, visit
from drills.load import load_drills
from drills.models import Prescription
from lessons.derived import recompute_all
from lessons.history import fault_histories
from lessons.load import load_catalogue
from lessons.models import Focus, Lesson, Look, Observation, Outcome, SeenFault, Skill
from tests.make import make_academy, make_coach

TODAY = date(2026, 6, 1)
TINY = crowd.Size(coaches=2, students=4, lessons=6, skills=3, days=300)


@pytest.fixture
def alone(db: None) -> Student:
    """The only student of a coach."""
    make_academy()
    make_coach("Ida Fernkettle")
    load_catalogue()
    return crowd.add_regular(TODAY, crowd.Size(students=1, lessons=12, skills=5, days=300))


@pytest.fixture
def regular(alone: Student) -> Student:
    """The same in a tiny crowd."""
    crowd.add_crowd(TODAY, TINY)
    recompute_all()
    return alone


def same(pair: Pair) -> bool:
    return pair.same(pair.ours(), pair.baseline())


def test_a_crowd_is_as_large_as_it_says(regular: Student) -> None:
    others = Lesson.objects.complete().exclude(student=regular)
    assert str(TINY) == "24 lessons, 144 observations"
    assert others.count() == 24 and regular.lessons.complete().count() == 12
    assert Observation.objects.exclude(look__lesson__student=regular).count() == 144
    assert Coach.objects.count() == 3 and Student.objects.count() == 5
    assert Focus.objects.agreed().count() == 10 and Outcome.objects.exists()


def test_no_lesson_of_a_crowd_is_still_to_come_and_none_is_older_than_its_days(regular: Student) -> None:
    days = [at.date() for at in Lesson.objects.values_list("session__starts_at", flat=True)]
    assert TODAY - timedelta(days=2 * TINY.days) < min(days) and max(days) < TODAY


def test_the_histories_and_their_yardstick_tell_the_same(regular: Student) -> None:
    assert len(history_rows(regular)[1]) >= 12 * 5 * 2
    assert same(judged_pair(regular))


@pytest.mark.parametrize("months", [3, None])
def test_the_academy_and_its_yardstick_tell_the_same(months: int | None, regular: Student) -> None:
    assert same(academy_pair(TODAY, months_before(TODAY, months) if months else None))


def test_a_yardstick_that_returns_something_else_is_found_out(regular: Student) -> None:
    pairs = judged_pair(regular), academy_pair(TODAY, None)
    before = [pair.baseline() for pair in pairs]
    SeenFault.objects.filter(observation__look__lesson__student=regular, observation__look__kind="arrival")[0].delete()
    Outcome.objects.all()[0].delete()
    assert [pair.same(pair.ours(), rows) for pair, rows in zip(pairs, before, strict=True)] == [False, False]


def test_one_students_histories_are_found_by_indexes_in_any_academy(regular: Student) -> None:
    assert scans(lambda: fault_histories(regular)) == []
    whole_table = scans(lambda: list(Look.objects.filter(kind="arrival")))
    assert len(whole_table) == (1 if connection.vendor == "sqlite" else 0)


def test_a_students_page_asks_as_often_in_a_larger_academy(alone: Student) -> None:
    address = reverse("progress", args=[alone.key])
    before = visit("ida.fernkettle", address)
    crowd.add_crowd(TODAY, TINY)
    assert visit("ida.fernkettle", address).queries == before.queries


def test_everything_grows_tenfold_and_no_page_about_one_asks_more(alone: Student) -> None:
    at, coach = timezone.now(), Coach.objects.get()
    load_drills()
    [focus] = Focus.objects.filter(slot=1)
    tenfold.prescribe([focus], 1, TODAY)
    tenfold.report(list(Prescription.objects.all()), 3, TODAY)
    tenfold.arrange([alone], 2, at)
    before, addresses = tenfold.rows(), [reverse("progress", args=[alone.key]), reverse("brief", args=[alone.key])]
    assert list(before.values()) == [1, 1, 12, 2, 1, 3]
    found = tenfold.compare(
        addresses, lambda address: measured(coach.user.username, address, 1), lambda: tenfold.grow(TODAY, at)
    )
    assert {name: 10 * number for name, number in before.items()} == tenfold.rows()
    assert [page.queries[0] for page in found] == [page.queries[1] for page in found]
    assert all(page.ratio > 0 for page in found)


def test_a_crowd_that_asks_at_once_is_answered_and_saved_and_errors_are_counted(
    transactional_db: None, alone: Student, live_server: Any
) -> None:
    coach, port = Coach.objects.get(), urlsplit(live_server.url).port or 0
    pages = load.own_pages(alone)
    people = [load.Person(alone.user, pages), load.Person(coach.user, pages, alone)]  # type: ignore[arg-type]
    assert [all(person.ask(port, False) for _ in range(5)) for person in people] == [True, True]
    assert Lesson.objects.filter(status="draft", keep__startswith="Calm").count() == 1, "the coach saved a log"
    assert load.load(people, port, 0.2, empty=True).errors == 0
    Session.objects.all().delete()
    assert load.load(people, port, 0.2, empty=False).errors >= 2, "a page of signing in is none of theirs"


def test_each_save_is_one_transaction_beside_one_empty_commit(transactional_db: None, alone: Student) -> None:
    held, empty = lock_held(alone, rounds=3)
    assert len(held) == len(empty) == 3 and min(held + empty) > 0
    assert not {"commit", "set_autocommit"} & set(vars(connections["default"]))


def test_all_who_save_at_once_are_stored(transactional_db: None, alone: Student) -> None:
    before = Lesson.objects.count()
    one, together = waits([alone, alone], rounds=2)
    assert 0 < together.median <= together.p95 <= together.longest and one.median > 0
    drafts = Lesson.objects.filter(status="draft")
    assert Lesson.objects.count() == before + 2
    # Each was made by one save, and two more came at once; the first was saved twice alone, too.
    assert sorted(drafts.values_list("version", flat=True)) == [3, 5]


def test_the_results_of_tests_are_measured_beside_fits(alone: Student) -> None:
    """Their ratio and the most that it may be, in one line."""
    out = StringIO()
    Command(stdout=out).weigh_results(alone, rounds=1, actor="ida.fernkettle")
    ours, baseline, ratio, most = re.findall(r"\d+\.\d+", out.getvalue())
    assert float(ours) / float(baseline) == pytest.approx(float(ratio), abs=0.01) and float(most) == MOST_RESULTS


def test_a_sentence_is_read_with_as_many_skills_as_is_said(alone: Student) -> None:
    load_drills()
    assert same(sentence_pair(alone)) and Skill.objects.count() == SKILLS
