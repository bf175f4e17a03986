"""The page that says when to change the database, from the site's own figures."""

from collections.abc import Callable

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from coachbook.operations.growth.advice import SIZE, WRITERS, Figures, reasons_to_change
from coachbook.operations.growth.measure import measure
from lessons.models import Lesson
from tests.conftest import Cast
from tests.make import make_lesson, make_user, this_time

FEW = Figures(is_postgresql=False, size=10**6, students=20, coaches=3, lessons=400, saves=100, busiest=3)


def test_few_people_and_a_small_file_are_no_reason_and_each_limit_is_one() -> None:
    assert reasons_to_change(FEW) == []
    [writers] = reasons_to_change(FEW._replace(busiest=WRITERS))
    [size] = reasons_to_change(FEW._replace(size=SIZE))
    assert "16 people saved within one minute" in writers and "larger than 1 GB" in size
    assert reasons_to_change(FEW._replace(busiest=WRITERS - 1, size=SIZE - 1)) == []
    assert reasons_to_change(FEW._replace(is_postgresql=True, busiest=99, size=9 * SIZE)) == []


def save(lesson: Lesson, number: int, **ago: int) -> None:
    """So many people save a lesson in one minute, each twice."""
    at = this_time(**ago).replace(second=10)
    for n in range(number):
        person = make_user(f"Writer {ago} {n}")
        for second in (10, 40):
            lesson.history.create(
                **{field.attname: getattr(lesson, field.attname) for field in Lesson.history.model.tracked_fields},
                history_date=at.replace(second=second), history_user=person, history_type="~",
            )  # fmt: skip


@pytest.mark.both_databases
def test_the_busiest_minute_is_that_of_most_people_not_of_most_saves(cast: Cast) -> None:
    lesson = make_lesson(cast.student, cast.coach, days_ago=3, status="complete", completed_at=this_time(days_ago=3))
    before = measure(this_time(days_ago=0))
    save(lesson, 3, days_ago=2)
    save(lesson, 5, days_ago=20)
    save(lesson, 9, days_ago=40)
    after = measure(this_time(days_ago=0))
    assert after.busiest == 5 and after.saves - before.saves == 16
    assert after.lessons == 1 and after.students == 2 and after.size > 10**5
    assert after.is_postgresql == (connection.vendor == "postgresql")


def test_the_manager_reads_what_to_do_and_how(cast: Cast, as_: Callable[[str], Client]) -> None:
    client, address = as_("manager"), reverse("site_size")
    assert address in client.get(reverse("caseload")).content.decode()
    with CaptureQueriesContext(connection) as queries:
        page = client.get(address).content.decode()
    assert "Nothing to do" in page and "It is time to change" not in page and len(queries) <= 12
    assert ("copy_database --to postgres:///coachbook --rehearse" in page) == (connection.vendor == "sqlite")
    assert as_("coach").get(address).status_code == 403
