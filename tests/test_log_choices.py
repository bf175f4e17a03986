"""What a log leaves to be fetched once: every skill of which nothing is recorded, without a script on one tap."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from coachbook.accounts.models import Student
from lessons.models import Fault, Focus, Lesson, Observation, Skill
from tests.conftest import Cast
from tests.library import load_library
from tests.make import make_fault, make_lesson, make_skill
from tests.test_log import APART, GRIP, Page

pytestmark = pytest.mark.long
Clients = Callable[[str], Client]
TEMPO = "putting-tempo"


@pytest.fixture(autouse=True)
def catalogue(cast: Cast) -> None:
    load_library()


@pytest.fixture
def coach(as_: Clients) -> Client:
    return as_("coach")


def log(coach: Client, student: Student, kind: str = "") -> str:
    """A fresh log, as its coach gets it."""
    address = reverse("lesson_new", args=[student.key]) + (f"?kind={kind}" if kind else "")
    return coach.get(address, follow=True).content.decode()


def names(html: str) -> set[str]:
    return set(re.findall(r'name="([acdv]\.[^"]+)"', html))


def left_out(html: str) -> list[str]:
    return re.findall(r'name="whole" value="([^"]+)"', html)


def address_of(html: str) -> str:
    [address] = re.findall(r'data-choices="([^"]+)"', html)
    return address


def choices(coach: Client, html: str) -> dict[str, str]:
    rows: dict[str, str] = coach.get(address_of(html)).json()
    return rows


@pytest.mark.parametrize("kind", ["", "course", "clip"])
def test_a_page_and_its_choices_are_all_of_the_whole_page(kind: str, coach: Client, cast: Cast) -> None:
    page = log(coach, cast.student, kind)
    whole = coach.get(reverse("lesson", args=[cast.student.key, cast.student.key]) + f"?whole&kind={kind}")
    rows = choices(coach, page)
    assert set(left_out(page)) == set(rows) and not left_out(whole.content.decode())
    assert not names(page) and names("".join(rows.values())) == names(whole.content.decode())
    assert all(row in whole.content.decode() for row in rows.values())


def test_the_browser_keeps_the_choices_for_every_student_until_one_changes(coach: Client, cast: Cast) -> None:
    student = cast.student
    first = address_of(log(coach, student))
    kept = coach.get(first)["Cache-Control"]
    assert "private" in kept and "immutable" in kept
    lesson = make_lesson(student, cast.coach, days_ago=1)
    fault = Fault.objects.get(code="putting-tempo-rushed")
    Focus.objects.create(student=student, slot=1, area="putting", fault=fault, opened_in=lesson)
    assert address_of(log(coach, student)) == first
    Skill.objects.filter(code=GRIP).update(name="Hold")
    assert address_of(log(coach, student)) != first
    assert "no-store" in coach.get(first)["Cache-Control"], "what is not of that digest is not kept under it"
    assert coach.get(first.replace("/ad/", "/xy/")).status_code == 404


def test_what_was_recorded_or_is_no_longer_offered_stands_on_the_page_itself(coach: Client, cast: Cast) -> None:
    """A fault that was archived since, in a focus that a later lesson opened, is offered to nobody else."""
    Page(coach, cast.student).see("a", APART, "clear").send()
    fault = Fault.objects.get(code="putting-tempo-rushed")
    later = make_lesson(cast.student, cast.coach, days_ago=-1)
    Focus.objects.create(student=cast.student, slot=1, area="putting", fault=fault, opened_in=later)
    Fault.objects.filter(pk=fault.pk).update(archived=True)
    address = reverse("lesson", args=[cast.student.key, Lesson.objects.exclude(pk=later.pk).get().key])
    page = coach.get(address).content.decode()
    assert {f"a.{APART}", "a.putting-tempo-rushed"} <= names(page)
    assert not {GRIP, TEMPO} & set(left_out(page)) and "putting-stance-width" in left_out(page)
    assert coach.get(address_of(page)).headers["Cache-Control"].endswith("immutable")
    assert "putting-tempo-rushed" not in choices(coach, page)[TEMPO]


def test_each_coach_gets_their_own_skills_and_nobody_elses(coach: Client, cast: Cast) -> None:
    for owner in (cast.coach, cast.other_coach):
        skill = make_skill(f"own-{owner.pk}", owner=owner)
        make_fault(skill, f"fault-{owner.pk}", owner=owner)
    page = log(coach, cast.student)
    rows = choices(coach, page)
    assert f"own-{cast.coach.pk}" in rows and f"own-{cast.coach.pk}" in left_out(page)
    assert f"own-{cast.other_coach.pk}" not in rows


def test_the_page_is_whole_for_whoever_reads_the_lesson_of_another(as_: Clients, cast: Cast) -> None:
    lesson = make_lesson(cast.student, cast.coach)
    page = as_("manager").get(reverse("lesson", args=[cast.student.key, lesson.key])).content.decode()
    assert f"a.{APART}" in names(page) and not left_out(page) and "data-choices" not in page


# --- Without a script ---------------------------------------------------------------------------


def test_a_button_keeps_what_was_typed_and_brings_the_whole_page(coach: Client, cast: Cast) -> None:
    page = Page(coach, cast.student)
    answer = page.type(keep="Calm eyes").send(whole=TEMPO)
    assert answer.url.endswith(f"?edit&whole={TEMPO}#skill-{TEMPO}")
    whole = coach.get(answer.url).content.decode()
    assert "Calm eyes" in whole and not left_out(whole)
    assert f'id="skill-{TEMPO}" open' in whole and f'id="skill-{GRIP}" open' not in whole
    page.address = answer.url
    del page.typed["whole"]
    again = page.see("a", "putting-tempo-rushed", "slight").type(base="1", count="2").send()
    assert again.url.endswith("?edit&whole="), "who has the whole page gets it again"
    assert Observation.objects.get().skill.code == TEMPO


def test_a_button_beside_a_mistake_brings_the_whole_page_with_it(coach: Client, cast: Cast) -> None:
    page = Page(coach, cast.student)
    answer: Any = page.type(keep="Calm eyes", day="2199-01-01").send(whole=TEMPO)
    html = answer.content.decode()
    assert answer.status_code == 422 and "This day is in the future." in html
    assert "Calm eyes" in html and not left_out(html) and f'id="skill-{TEMPO}" open' in html
