"""Words for twelve-year-olds: the trade's own have plain forms in one table, and no page of a student shows them."""

import re
from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.loop.sheets.issue import issue_sheet
from drills.models import Design, PracticeEntry, Round
from lessons.models import Focus, Lesson, Observation, SeenFault, Skill
from lessons.plain_words import PLAIN, plain
from tests.conftest import Cast
from tests.crawl import crawl
from tests.library import load_library
from tests.make import academy_today, make_ball, make_lesson, make_look, make_prescription, make_test

pytestmark = pytest.mark.one_database
Clients = Callable[[str], Client]
# What may stand: a drill of that name is explained on its own page, and the other is an everyday word.
ALLOWED = {"ball gate", "alone"}
# No form of these is needed: a page for students has no place for them.
NEVER = ["departures?", "arrivals?", "stimp", "graded", "zoom", "symbols?", "intervals?", "posterior", "estimates?"]
NEVER += ["median", "prescri\\w+", "observations?", "faults?", "selective", "trend", "dose", "three-putts?"]
FORBIDDEN = re.compile(rf"(?<!\w)({'|'.join([*(PLAIN.keys() - ALLOWED), *NEVER])})(?!\w)", re.IGNORECASE)
HARD = re.compile(r"stance|shaft|loft|low point|backswing|impact|strike|entry|lead|trail|path to", re.IGNORECASE)


@pytest.fixture
def lived(cast: Cast) -> Lesson:
    """A student with all that a page may show: looks, a measure, a focus, a drill, every test, rounds, practice."""
    load_library()
    done = {"status": "complete", "completed_at": timezone.now()}
    skill = Skill.objects.get(code="chipping-low-point")
    fault = skill.faults.order_by("pk")[0]
    for days in (20, 10):
        lesson = make_lesson(cast.student, cast.coach, days_ago=days, **done)
        for kind in ("arrival", "departure"):
            seen = {"skill": skill, "verdict": "not_good", "measure": Decimal(days // 5)}
            observation = Observation.objects.create(look=make_look(lesson, kind), **seen)
            SeenFault.objects.create(observation=observation, fault=fault, degree="not_graded")
        if days == 20:
            focus = Focus.objects.create(student=cast.student, opened_in=lesson, slot=1, area="chipping", fault=fault)
    given = make_prescription(lesson, focus, begins=academy_today() - timedelta(days=10))
    PracticeEntry.objects.create(prescription=given, day=academy_today(), amount=10)
    for moment, design in zip(("arrival", "departure", "arrival", "home", "home"), Design.objects.all(), strict=True):
        in_lesson = {} if moment == "home" else {"lesson": lesson}
        test = make_test(cast.student, design, moment=moment, done_at=timezone.now(), **in_lesson)
        for _ in range(8):
            make_ball(test, **({"result": "through"} if design.kind == "gate" else {"leave_m": 0.9}))
    for days in range(8):
        Round.objects.create(
            student=cast.student, day=academy_today() - timedelta(days=days), putts=33, by=cast.coach.user
        )
    issue_sheet(lesson=lesson, at=timezone.now())
    return lesson


@pytest.mark.long
def test_no_page_of_a_student_or_guardian_says_a_word_of_the_trade(lived: Lesson, cast: Cast, as_: Clients) -> None:
    for actor in ("student", "guardian"):
        pages = {address: words for address, words in crawl(as_(actor)) if not address.startswith("/sources/")}
        assert len(pages) > 30
        assert {at: found for at, words in pages.items() if (found := FORBIDDEN.findall(words))} == {}, actor


def test_a_coach_reads_the_words_of_the_trade(lived: Lesson, cast: Cast, as_: Clients) -> None:
    page = as_("coach").get(reverse("tests", args=[cast.student.key])).content.decode()
    assert "Measured leaves" in page and "departure" in page and "How close to the hole" not in page
    assert {"departure", "Proximity", "Pace ladder"} <= set(FORBIDDEN.findall(page))


def test_whatever_is_measured_has_a_name_without_the_trades_words(cast: Cast) -> None:
    load_library()
    names = {measure.heading("right") for skill in Skill.objects.all() if (measure := skill.measured)}
    assert len(names) > 25
    assert {plain(name) for name in names if HARD.search(plain(name))} == set()


def test_a_plain_form_holds_no_word_that_needs_one_and_keeps_a_capital() -> None:
    assert {form for form in PLAIN.values() if plain(form) != form} == set()
    assert plain("Measured leaves, arrival") == "How close to the hole, start of the lesson"
    assert plain("On arrival 8 cm, on departure 9") == "At the start of the lesson 8 cm, at the end of the lesson 9"
    assert plain("A name of their own, aloneness") == "A name of their own, aloneness"
