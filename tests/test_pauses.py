"""The times in which nobody expects a student."""

import uuid
from collections.abc import Callable
from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Pause
from tests.conftest import Cast
from tests.make import make_pause, make_student

Clients = Callable[[str], Client]


@pytest.fixture
def today(cast: Cast) -> date:
    return cast.academy.today(timezone.now())


def address(cast: Cast) -> str:
    return reverse("pauses", args=[cast.student.key])


def end(cast: Cast, pause: Pause) -> str:
    return reverse("pause_end", args=[cast.student.key, pause.key])


def day(of: date) -> str:
    return f"{of.day} {of:%B}"


def test_a_pause_is_added_and_shown_where_it_matters(cast: Cast, as_: Clients, today: date) -> None:
    since = today - timedelta(days=2)
    answer = as_("coach").post(address(cast), {"reason": "injury", "since": since})
    assert answer.url == address(cast)  # type: ignore[attr-defined]
    pause = cast.student.pauses.get()
    assert (pause.reason, pause.since, pause.until) == ("injury", since, None)
    assert pause.history.get().history_user == cast.coach.user
    said = f"Pauses since {day(since)}"
    for actor in ("coach", "manager", "assistant", "student", "guardian"):
        page = as_(actor).get(reverse("student", args=[cast.student.key])).content.decode()
        assert said in page and ", injury" in page, actor
    assert said in as_("coach").get(reverse("students")).content.decode()


def test_a_pause_with_an_end_says_both(cast: Cast, as_: Clients, today: date) -> None:
    typed = {"reason": "other", "since": today, "until": today + timedelta(days=9)}
    assert as_("coach").post(address(cast), typed).status_code == 302
    page = as_("coach").get(reverse("student", args=[cast.student.key])).content.decode()
    assert f"Pauses from {day(today)}" in page and f"until {day(today + timedelta(days=9))}" in page
    assert ", other" not in page


def test_a_pause_counts_on_its_first_and_last_day_and_on_no_other(cast: Cast, today: date) -> None:
    pause = make_pause(cast.student, today, today + timedelta(days=2))
    days = [today + timedelta(days=number) for number in range(-1, 4)]
    assert [pause in Pause.objects.in_force(on) for on in days] == [False, True, True, True, False]


def test_a_pause_of_another_time_is_not_shown(cast: Cast, as_: Clients, today: date) -> None:
    make_pause(cast.student, today - timedelta(days=9), today - timedelta(days=1))
    make_pause(cast.student, today + timedelta(days=1))
    for page in (reverse("students"), reverse("student", args=[cast.student.key])):
        text = as_("coach").get(page).content.decode()
        assert "Pauses since" not in text and "Pauses from" not in text


def test_earlier_pauses_stay_listed(cast: Cast, as_: Clients) -> None:
    make_pause(cast.student, date(2026, 3, 3), date(2026, 4, 10), "exams")
    page = as_("coach").get(address(cast)).content.decode()
    assert "From 3 March 2026 until 10 April 2026" in page and "Exams" in page and "End today" not in page


def test_sent_twice_it_is_one_pause(cast: Cast, as_: Clients, today: date) -> None:
    typed = {"reason": "winter", "since": today, "until": today + timedelta(days=30)}
    assert [as_("coach").post(address(cast), typed).status_code for _ in range(2)] == [302, 302]
    assert cast.student.pauses.count() == 1


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"reason": ""}, "reason"),
        ({"reason": "tired"}, "reason"),
        ({"since": ""}, "since"),
        ({"since": "soon"}, "since"),
        ({"since": "0001-01-01"}, "since"),
        ({"until": "9999-12-31"}, "until"),
        ({"until": "never"}, "until"),
        ({"since": "2026-07-02", "until": "2026-07-01"}, "until"),
    ],
)
def test_an_invalid_value_says_why_and_keeps_the_rest(
    typed: dict[str, str], field: str, cast: Cast, as_: Clients
) -> None:
    sent = {"reason": "exams", "since": "2026-07-01", "until": "2026-07-20", **typed}
    answer = as_("coach").post(address(cast), sent)
    page = answer.content.decode()
    assert answer.status_code == 422 and list(answer.context["form"].errors) == [field]
    assert f'id="id_{field}_error"' in page
    for name in ("since", "until"):
        assert not sent[name] or f'value="{sent[name]}"' in page
    assert field == "reason" or 'value="exams" required id="id_reason_1" checked' in page
    assert not Pause.objects.exists()


@pytest.mark.parametrize(
    ("since", "until", "answer"),
    [
        ("2026-03-01", "2026-03-10", 422),
        ("2026-03-20", "", 422),
        ("2026-03-12", "2026-03-13", 422),
        ("2026-02-01", "", 422),
        ("2026-03-20", "2026-03-20", 422),
        ("2026-02-01", "2026-03-09", 302),
        ("2026-03-21", "", 302),
    ],
)
def test_two_pauses_do_not_touch(since: str, until: str, answer: int, cast: Cast, as_: Clients) -> None:
    make_pause(cast.student, date(2026, 3, 10), date(2026, 3, 20), "exams")
    make_pause(cast.other_student, date(2020, 1, 1))
    got = as_("coach").post(address(cast), {"reason": "injury", "since": since, "until": until})
    assert got.status_code == answer and cast.student.pauses.count() == (2 if answer == 302 else 1)
    if answer == 422:
        page = got.content.decode()
        assert "There is a pause from 10 March 2026 until 20 March 2026 already." in page and f'value="{since}"' in page


def test_a_pause_ends_today(cast: Cast, as_: Clients, today: date) -> None:
    pause = make_pause(cast.student, today - timedelta(days=3))
    assert "End today" in as_("coach").get(address(cast)).content.decode()
    for _ in range(2):
        assert as_("coach").post(end(cast, pause)).status_code == 302
    pause.refresh_from_db()
    assert pause.until == today and pause.history.count() == 2
    assert pause.history.first().history_user == cast.coach.user
    assert "End today" not in as_("coach").get(address(cast)).content.decode()
    assert not Pause.objects.in_force(today + timedelta(days=1)).exists()


def test_a_pause_that_is_over_stays_as_it_is(cast: Cast, as_: Clients) -> None:
    pause = make_pause(cast.student, date(2026, 3, 3), date(2026, 4, 10))
    as_("coach").post(end(cast, pause))
    pause.refresh_from_db()
    assert pause.until == date(2026, 4, 10)


def test_a_pause_that_has_not_begun_is_removed_and_the_history_keeps_it(cast: Cast, as_: Clients, today: date) -> None:
    pause = make_pause(cast.student, today + timedelta(days=5), today + timedelta(days=9))
    assert "Delete" in as_("coach").get(address(cast)).content.decode()
    for _ in range(2):
        assert as_("coach").post(end(cast, pause)).status_code == 302
    assert not cast.student.pauses.exists()
    gone = Pause.history.filter(key=pause.key).first()
    assert (gone.history_type, gone.history_user, gone.reason) == ("-", cast.coach.user, "injury")


def test_a_pause_is_ended_at_its_own_students_address(cast: Cast, as_: Clients) -> None:
    theirs = make_pause(cast.other_student, date(2026, 3, 3))
    assert as_("manager").post(end(cast, theirs)).status_code == 404
    assert as_("manager").post(reverse("pause_end", args=[cast.student.key, uuid.uuid4()])).status_code == 404
    theirs.refresh_from_db()
    assert theirs.until is None


@pytest.mark.parametrize(
    ("actor", "status"),
    [
        ("manager", 302),
        ("cover", 302),
        ("assistant", 403),
        ("student", 403),
        ("guardian", 403),
        ("other_coach", 404),
        ("past_coach", 404),
        ("past_guardian", 404),
        ("other_student", 404),
    ],
)
def test_who_may_end_a_pause_and_write_one(actor: str, status: int, cast: Cast, as_: Clients) -> None:
    pause = make_pause(cast.student, date(2026, 3, 3))
    assert as_(actor).post(end(cast, pause)).status_code == status
    pause.refresh_from_db()
    assert (pause.until is not None) == (status == 302)
    typed = {"reason": "exams", "since": "2026-01-05", "until": "2026-01-09"}
    assert as_(actor).post(address(cast), typed).status_code == status
    assert cast.student.pauses.count() == (2 if status == 302 else 1)


def test_a_list_with_many_pauses_costs_no_more_queries(
    cast: Cast,
    as_: Clients,
    today: date,
    django_assert_max_num_queries,  # type: ignore[no-untyped-def]
) -> None:
    for _ in range(20):
        make_pause(make_student(coach=cast.coach, account=False), today)
    for months in range(1, 20):
        make_pause(
            cast.student, date(2020, 1, 1) + timedelta(days=30 * months), date(2020, 1, 9) + timedelta(30 * months)
        )
    client = as_("coach")
    for page in (reverse("students"), address(cast)):
        with django_assert_max_num_queries(12):
            assert client.get(page).status_code == 200
