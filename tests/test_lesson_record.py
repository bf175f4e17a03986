"""A finished lesson opens as its record, for those who may read a log; its form is one tap further."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from lessons.models import Fault, Focus, Lesson, Observation, SeenFault
from tests.conftest import Cast
from tests.make import (
    make_ball,
    make_drill,
    make_fault,
    make_lesson,
    make_look,
    make_prescription,
    make_skill,
    make_test,
)

Clients = Callable[[str], Client]
DONE: dict[str, Any] = {"status": "complete"}


def see(lesson: Lesson, kind: str, faults: dict[Fault, str], **values: Any) -> None:
    """What one look showed of the skill of these faults; without any, that it was good."""
    look = lesson.looks.filter(kind=kind).first() or make_look(lesson, kind)
    skill = values.pop("skill", None) or next(iter(faults)).skill
    row = Observation.objects.create(look=look, skill=skill, verdict="not_good" if faults else "good", **values)
    for fault, degree in faults.items():
        SeenFault.objects.create(observation=row, fault=fault, degree=degree)


@pytest.fixture
def last(cast: Cast) -> Lesson:
    """The second lesson of a student: it looked at two skills, and opened, went on with and closed a focus."""
    grip, stance = make_skill(name="Grip"), make_skill(name="Stance")
    apart, tight = make_fault(grip, name="Hands apart"), make_fault(grip, name="Too tight")
    first = make_lesson(cast.student, cast.coach, days_ago=30, completed_at=timezone.now(), **DONE)
    words = {"keep": "A calm rhythm", "next_time": "The same putt", "note": "Knee", "note_reader": "coach"}
    last = make_lesson(cast.student, cast.coach, completed_at=timezone.now(), putting=True, **DONE, **words)
    see(last, "arrival", {apart: "clear", tight: "slight"}, measure_words="3 cm", words="White knuckles")
    see(last, "departure", {apart: "slight"}, measure_words="1 cm")
    see(last, "arrival", {}, skill=stance)
    about: dict[str, Any] = {"student": cast.student, "area": "putting"}
    Focus.objects.create(slot=1, what="An older one", opened_in=first, closed_in=last, **about)
    going_on = Focus.objects.create(slot=1, fault=tight, opened_in=first, **about)
    Focus.objects.create(slot=2, fault=apart, feel="Thumbs touch", opened_in=last, **about)
    make_prescription(last, going_on, drill=make_drill(name="Ball gate"), per_week=3, days=14, mark="8 of 10")
    make_ball(make_test(cast.student, lesson=last, moment="arrival"), leave_m=0.3)
    return last


def address(lesson: Lesson) -> str:
    return reverse("lesson", args=[lesson.student.key, lesson.key])


def read(client: Client, where: str) -> str:
    """The words of the main part of a page, without its marks."""
    html = client.get(where).content.decode().split("<main")[1].split("</main")[0]
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


def test_it_says_what_was_seen_what_changed_and_what_was_agreed(last: Lesson, as_: Clients) -> None:
    words = read(as_("coach"), address(last))
    for row in (
        "Seen Hands apart clear → on arrival, then slight, better",
        "Too tight slight → on arrival, then good, better",
        "Grip, measured 3 cm → on arrival, then 1 cm",
        "On arrival good: Stance",
        "Keep A calm rhythm",
        "Next time The same putt",
        "Closed An older one",
        "Continued Too tight",
        "Ball gate, 10 minutes, 3 times a week, for 14 days, target: 8 of 10",
        "Opened Hands apart . Feel: Thumbs touch",
        "White knuckles",
        "Note Knee",
        "Test",
    ):
        assert row in words, row


def test_it_holds_no_form_but_leads_to_it(last: Lesson, as_: Clients) -> None:
    page = as_("coach").get(address(last))
    assert "lesson_form" not in page.context and 'href="?edit"' in page.content.decode()
    assert "lesson_form" in as_("coach").get(f"{address(last)}?edit").context


def test_a_draft_opens_as_its_form(last: Lesson, as_: Clients) -> None:
    Lesson.objects.update(status="draft")
    assert "lesson_form" in as_("coach").get(address(last)).context


def test_a_manager_reads_it_and_is_offered_no_form(last: Lesson, as_: Clients) -> None:
    for where in (address(last), f"{address(last)}?edit"):
        page = as_("manager").get(where)
        assert "lesson_form" not in page.context and "?edit" not in page.content.decode()


def test_what_is_for_its_writer_alone_is_withheld_from_another_coach(last: Lesson, as_: Clients) -> None:
    words = read(as_("cover"), address(last))
    assert "Knee" not in words and "White knuckles" not in words
    assert words.count("Ida Fernkettle has a private note here.") == 2
    assert {as_(actor).get(address(last)).status_code for actor in ("student", "guardian")} == {403}


def test_a_focus_that_was_closed_before_or_opened_later_is_not_on_it(last: Lesson, cast: Cast, as_: Clients) -> None:
    earlier = make_lesson(cast.student, cast.coach, days_ago=20, completed_at=timezone.now(), **DONE)
    later = make_lesson(cast.student, cast.coach, days_ago=-20, completed_at=timezone.now(), **DONE)
    about: dict[str, Any] = {"student": cast.student, "area": "putting"}
    Focus.objects.create(slot=3, reason="x", what="Gone-before", opened_in=earlier, closed_in=earlier, **about)
    Focus.objects.create(slot=3, reason="x", what="Came-later", opened_in=later, **about)
    words = read(as_("coach"), address(last))
    assert "Gone-before" not in words and "Came-later" not in words


def test_saving_leads_back_to_it_and_the_usual_drill_back_to_its_form(last: Lesson, as_: Clients) -> None:
    focus = last.focuses_opened.get()
    posted = {"putting": "on", "day": "2026-06-01", "base": last.version, "page": "p", "focus": str(focus.key)}
    posted |= {f"focus-{focus.key}-fault": focus.fault.code if focus.fault else "", f"focus-{focus.key}-kind": "fix"}
    where = f"{address(last)}?edit"
    saved = as_("coach").post(where, posted | {"keep": "Better said"})
    assert saved.status_code == 302 and saved.headers["Location"] == address(last)
    usual = as_("coach").post(where, posted | {"count": "2", "usual": str(focus.key)})
    assert usual.status_code == 302 and usual.headers["Location"] == f"{where}#block-{focus.key}"


def test_it_takes_at_most_twelve_queries(last: Lesson, as_: Clients, django_assert_max_num_queries: Any) -> None:
    client = as_("coach")
    client.get(address(last))
    with django_assert_max_num_queries(12):
        assert client.get(address(last)).status_code == 200


def test_faults_stand_in_the_order_of_the_catalogue_whichever_was_ticked_first(cast: Cast, as_: Clients) -> None:
    grip = make_skill(name="Grip")
    apart, tight = (
        make_fault(grip, name=name, position=place) for place, name in enumerate(("Hands apart", "Too tight"))
    )
    lesson = make_lesson(cast.student, cast.coach, completed_at=timezone.now(), putting=True, **DONE)
    see(lesson, "arrival", {tight: "slight", apart: "clear"})
    words = read(as_("coach"), address(lesson))
    assert words.index("Hands apart") < words.index("Too tight")
