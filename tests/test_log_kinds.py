"""A course walk and a clip that was sent in: logged like a lesson, with one look, and never an arrival."""

import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.caseload.gather import gather_caseload
from lessons.history import FaultHistory, fault_histories
from lessons.models import Lesson, Look, Observation, SeenFault, Session
from lessons.progress.points import counted_points, frequency
from tests.conftest import Cast
from tests.crawl import read
from tests.library import load_library
from tests.make import academy_today
from tests.test_log import APART, GRIP, HTMX, Page, message_beside

pytestmark = [pytest.mark.one_database, pytest.mark.long]
Clients = Callable[[str], Client]
LETTER = {"course": "c", "clip": "v"}


@pytest.fixture(autouse=True)
def catalogue(cast: Cast) -> None:
    load_library()


@pytest.fixture
def coach(as_: Clients) -> Client:
    return as_("coach")


def fresh(coach: Client, cast: Cast, kind: str = "") -> Page:
    """A fresh page of one kind of log, as the student's page leads there."""
    address = coach.get(reverse("lesson_new", args=[cast.student.key]), {"kind": kind} if kind else {}).url  # type: ignore[attr-defined]
    return Page(coach, cast.student, address)


def filmed(page: Page, days_ago: int = 3) -> Page:
    return page.type(filmed_on=(academy_today() - timedelta(days=days_ago)).isoformat())


@pytest.mark.parametrize("kind", ["course", "clip"])
def test_it_is_one_look_and_is_stored_as_what_it_is(kind: str, coach: Client, cast: Cast) -> None:
    page = filmed(fresh(coach, cast, kind))
    html = page.answer.content.decode()
    assert page.address.endswith(f"?kind={kind}") and page.address in html, "the form is sent to the same address"
    assert "Arrival" not in html and "Departure" not in html
    assert page.see(LETTER[kind], APART, "slight").send(done="1", keep="Calm").status_code == 302
    lesson, look = Lesson.objects.get(), Look.objects.get()
    assert (lesson.session.kind, look.kind, lesson.status) == (kind, kind, "complete")
    assert SeenFault.objects.get().degree == "slight" and lesson.sheets.count() == 1


def test_a_clip_is_looked_at_on_film_and_says_when_it_was_filmed(coach: Client, cast: Cast) -> None:
    filmed(fresh(coach, cast, "clip"), 5).see("v", APART, "slight").send(done="1")
    session = Session.objects.get()
    assert session.filmed_on == academy_today() - timedelta(days=5) and Look.objects.get().means == "film"
    assert cast.academy.today(session.starts_at) == cast.academy.today(timezone.now())


def test_a_clip_without_the_day_is_saved_but_not_finished(coach: Client, cast: Cast) -> None:
    page = fresh(coach, cast, "clip").see("v", APART, "slight")
    assert page.send().status_code == 302
    answer = page.send(done="1", count="2")
    assert answer.status_code == 422 and "Enter the day on which it was filmed" in message_beside(
        answer, "id_filmed_on"
    )
    assert Lesson.objects.get().status == "draft" and SeenFault.objects.exists()
    assert filmed(page).send(done="1", count="3").status_code == 302


@pytest.mark.parametrize("word", ["2999-01-01", "0026-01-01", "yesterday", "2020-13-45"])
def test_a_day_on_which_nobody_filmed_is_refused_beside_its_field(word: str, coach: Client, cast: Cast) -> None:
    answer = fresh(coach, cast, "clip").see("v", APART, "slight").send(filmed_on=word, keep="Calm")
    assert answer.status_code == 422 and message_beside(answer, "id_filmed_on")
    assert f'value="{word}"' in answer.content.decode() and "Calm" in answer.content.decode()
    assert Session.objects.get().filmed_on is None and Lesson.objects.get().keep == "Calm"


def test_a_clip_was_filmed_before_it_was_looked_at(coach: Client, cast: Cast) -> None:
    day = (academy_today() - timedelta(days=9)).isoformat()
    answer = filmed(fresh(coach, cast, "clip"), 2).send(day=day)
    assert answer.status_code == 422 and "cannot be filmed after you looked at it" in message_beside(
        answer, "id_filmed_on"
    )


@pytest.mark.parametrize("kind", ["course", "clip"])
def test_an_empty_one_cannot_be_finished(kind: str, coach: Client, cast: Cast) -> None:
    answer = filmed(fresh(coach, cast, kind)).send(done="1")
    assert answer.status_code == 422 and "Nothing is logged yet" in message_beside(answer, "id_keep")


@pytest.mark.parametrize("kind", ["course", "clip"])
def test_what_is_stored_wins_over_the_address(kind: str, coach: Client, cast: Cast) -> None:
    page = filmed(fresh(coach, cast, kind))
    page.see(LETTER[kind], f"{GRIP}.good", "on").send()
    plain, other = page.address.split("?")[0], {"course": "clip", "clip": "course"}[kind]
    for address in (plain, f"{plain}?kind={other}"):
        again = Page(coach, cast.student, address)
        assert f'name="{LETTER[kind]}.{GRIP}.good" checked' in again.answer.content.decode()
        again.see(LETTER[kind], f"{GRIP}.good", "on").send(HTMX, keep=address)
    assert Session.objects.get().kind == kind and Look.objects.get().kind == kind


@pytest.mark.parametrize("word", ["group", "lesson", "clip2", "", "💥"])
def test_any_other_word_in_the_address_is_a_lesson(word: str, coach: Client, cast: Cast) -> None:
    assert "?" not in fresh(coach, cast, word).address
    page = Page(coach, cast.student, f"{fresh(coach, cast).address}?kind={word}")
    page.send(keep="x")
    assert Session.objects.get().kind == "lesson"


def test_a_letter_of_another_kind_is_not_stored(coach: Client, cast: Cast) -> None:
    fresh(coach, cast, "course").see("a", APART, "clear").see("v", APART, "clear").send(keep="x")
    assert not Look.objects.exists()


def test_posted_twice_it_is_one(coach: Client, cast: Cast) -> None:
    page = fresh(coach, cast, "course").see("c", APART, "slight")
    for _ in range(2):
        assert page.send(done="1").status_code == 302
    assert (Lesson.objects.count(), Look.objects.count(), Observation.objects.count()) == (1, 1, 1)


# --- Never an arrival -----------------------------------------------------------------------------


@pytest.fixture
def known(coach: Client, cast: Cast) -> None:
    """Three lessons whose arrivals showed the hands apart, slightly, and not at all."""
    for days, degree in ((30, "clear"), (20, "slight"), (10, "")):
        page = fresh(coach, cast).see("a", APART, degree)
        if not degree:
            page.see("a", f"{GRIP}.good", "on")
        page.send(done="1", day=(academy_today() - timedelta(days=days)).isoformat(), keep="Calm")
    assert Lesson.objects.complete().count() == 3


def only(cast: Cast) -> FaultHistory:
    (found,) = fault_histories(cast.student)
    return found


@pytest.mark.usefixtures("known")
@pytest.mark.parametrize("kind", ["course", "clip"])
def test_the_rate_and_the_strip_stay_as_they_were(kind: str, coach: Client, cast: Cast) -> None:
    before = only(cast)
    assert frequency(before.points)[-1][1:] == (2, 3)
    filmed(fresh(coach, cast, kind)).see(LETTER[kind], APART, "clear").send(done="1")
    after = only(cast)
    assert SeenFault.objects.filter(degree="clear", observation__look__kind=kind).exists()
    assert after.points == before.points
    assert frequency(after.points) == frequency(before.points) and counted_points(after.points) == counted_points(
        before.points
    )


@pytest.mark.usefixtures("known")
@pytest.mark.parametrize("kind", ["course", "clip"])
def test_even_an_arrival_look_in_such_a_session_is_none(kind: str, coach: Client, cast: Cast) -> None:
    before = only(cast).points
    page = fresh(coach, cast).see("a", APART, "clear")
    page.send(done="1")
    assert only(cast).points != before, "as a lesson it would count"
    Session.objects.filter(lessons=Lesson.objects.latest("pk")).update(kind=kind)
    assert only(cast).points == before


@pytest.mark.usefixtures("known")
@pytest.mark.parametrize("kind", ["course", "clip"])
def test_the_next_log_shows_what_the_last_lesson_showed(kind: str, coach: Client, cast: Cast) -> None:
    filmed(fresh(coach, cast, kind)).see(LETTER[kind], APART, "clear").send(done="1")
    html = fresh(coach, cast).answer.content.decode()
    assert "Last time: arrival good" in html and "clear</p>" not in html


def test_a_clip_is_no_visit_to_the_caseload_and_a_course_walk_is_one(coach: Client, cast: Cast) -> None:
    def seen() -> Any:
        rows = gather_caseload(cast.academy, cast.academy.today(timezone.now()), days=30).rows
        return next(row.sums for row in rows if row.coach == cast.coach)

    none = seen()
    filmed(fresh(coach, cast, "clip")).see("v", APART, "slight").send(done="1")
    assert seen() == none
    fresh(coach, cast, "course").see("c", APART, "slight").send(done="1")
    assert seen() != none


# --- Where it is met ----------------------------------------------------------------------------


def test_the_students_page_offers_them_and_its_list_says_which(coach: Client, cast: Cast, as_: Clients) -> None:
    home = reverse("student", args=[cast.student.key])
    html = coach.get(home).content.decode()
    assert re.findall(r"\?kind=(\w+)", html) == ["course", "clip"]
    fresh(coach, cast, "course").send(done="1", keep="x")
    filmed(fresh(coach, cast, "clip")).send(done="1", keep="y")
    for actor in ("coach", "student", "guardian"):
        words, _ = read(as_(actor), home)
        assert "Putting, course walk Ida Fernkettle" in words
        assert re.search(r"Putting, clip of [\w ]+ Ida Fernkettle", words)
    assert "kind=" not in as_("student").get(home).content.decode()


@pytest.mark.parametrize(
    ("actor", "status"),
    [("student", 403), ("guardian", 403), ("manager", 403), ("other_coach", 404), ("past_coach", 404)],
)
def test_who_may_not_log_one(actor: str, status: int, cast: Cast, as_: Clients) -> None:
    assert as_(actor).get(reverse("lesson_new", args=[cast.student.key]), {"kind": "clip"}).status_code == status
