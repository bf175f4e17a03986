"""What a student and a guardian read: their own side, no word of the trade's for what is bad, nothing kept private."""

import re
from collections.abc import Callable, Iterator
from datetime import date

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Student
from coachbook.loop.sheets.issue import issue_sheet
from drills.models import Drill
from lessons.models import Fault, Focus, Lesson, Observation, SeenFault
from lessons.wording import MARKER, render
from tests.conftest import Cast
from tests.crawl import crawl, read
from tests.library import load_library
from tests.make import academy_today, make_lesson, make_look, make_prescription

pytestmark = pytest.mark.one_database
Clients = Callable[[str], Client]
TRADE = re.compile(r"\b(lead|trail)\b", re.IGNORECASE)
HARSH = re.compile(r"\b(fault|faults|marked)\b|fault=|marked=", re.IGNORECASE)
TOGETHER = 7  # faults that are looked for on one student's page; 154 are read in whole sevens
DRILL_TEXTS = ["name", "setup", "feel", "mark", "tip", "caution"]


@pytest.fixture
def student(cast: Cast) -> Student:
    """Putts left and chips right."""
    load_library()
    cast.student.putting_side = "left"
    cast.student.save()
    return cast.student


def teach(student: Student, cast: Cast, fault: Fault, drill: Drill, days_ago: int) -> Lesson:
    """A finished lesson in which the fault was seen and taken on with the drill."""
    words = {"status": "complete", "completed_at": timezone.now(), "note": "note-canary"}
    lesson = make_lesson(student, cast.coach, days_ago=days_ago, **words)
    for open_focus in student.focuses.filter(closed_in=None):
        open_focus.closed_in = lesson
        open_focus.save()
    student.prescriptions.filter(ended_on=None).update(ended_on=date(2026, 6, 1))
    for kind in ("arrival", "departure"):
        seen = {"skill": fault.skill, "verdict": "not_good", "words": "words-canary", "measure_words": "77 canary"}
        observation = Observation.objects.create(look=make_look(lesson, kind), **seen)
        SeenFault.objects.create(observation=observation, fault=fault, degree="clear")
    focus = Focus.objects.create(student=student, opened_in=lesson, slot=1, area=fault.skill.area, fault=fault)
    make_prescription(lesson, focus, drill=drill, begins=academy_today())
    issue_sheet(lesson=lesson, at=timezone.now())
    return lesson


def wordings(fault: Fault, drill: Drill) -> Iterator[tuple[str, str]]:
    """Every wording that a student may meet of these two, with its area; only those that depend on the side."""
    found = [(text, fault.skill.area) for text in (fault.goal, fault.plain, fault.feel)]
    found += [(getattr(drill, name), drill.area) for name in DRILL_TEXTS]
    found += [(step, drill.area) for step in drill.steps]
    return ((text, area) for text, area in found if MARKER.search(text))


def plain(words: str) -> str:
    return " ".join(words.split()).lower()


@pytest.mark.long
def test_every_wording_of_the_catalogue_is_read_from_the_players_own_side(
    student: Student, cast: Cast, as_: Clients
) -> None:
    client, checked, finished, awaited = as_("student"), set(), list[str](), list[str]()
    drills = {area: list(Drill.objects.filter(area=area)) for area in Drill.objects.values_list("area", flat=True)}
    for number, fault in enumerate(Fault.objects.select_related("skill")):
        shelf = drills[fault.skill.area]
        drill = shelf[number % len(shelf)]
        lesson = teach(student, cast, fault, drill, days_ago=200 - number)
        pages = [
            reverse("sheet", args=[student.key, lesson.sheets.get().key]),
            reverse("today", args=[student.key]),
            reverse("drill", args=[drill.code]),
        ]
        now = plain(" ".join(read(client, page)[0] for page in pages))
        for goal in finished:  # the sheet says what this lesson finished, which may be the other way round
            now = now.replace(goal, "")
        finished = [plain(render(fault.goal, side)) for side in ("left", "right")]
        assert not TRADE.search(now) and not HARSH.search(now)
        for text, area in wordings(fault, drill):
            own, other = ("left", "right") if area == "putting" else ("right", "left")
            said, mirrored = plain(render(text, own)), plain(render(text, other))  # type: ignore[arg-type]
            if said.removeprefix("watch for ") not in now:
                awaited.append(said.removeprefix("watch for "))
            assert mirrored.removeprefix("watch for ") not in now, mirrored
            checked.add(text)
        # The student's page lists what was worked on before, too, of which some was the other way round.
        if number % TOGETHER == TOGETHER - 1:
            home = plain(read(client, reverse("student", args=[student.key]))[0])
            assert not TRADE.search(home) and not HARSH.search(home)
            assert [said for said in awaited if said not in home] == []
            awaited.clear()
    assert len(checked) > 50 and not awaited


@pytest.fixture
def a_while(student: Student, cast: Cast) -> Student:
    """Three lessons in two areas."""
    codes = ["putting-lead-wrist-cups", "chipping-grip-down-full", "putting-grip-apart"]
    for number, code in enumerate(codes):
        fault = Fault.objects.get(code=code)
        drill = fault.drills.first()
        assert drill
        teach(student, cast, fault, drill, days_ago=60 - number)
    return student


@pytest.mark.long
@pytest.mark.parametrize("actor", ["student", "guardian"])
def test_whatever_they_follow_they_read_no_trade_word_no_harsh_word_and_nothing_private(
    actor: str, a_while: Student, as_: Clients
) -> None:
    pages = dict(crawl(as_(actor)))
    assert any(address.endswith("/pdf/") and words for address, words in pages.items()), "the PDF was read, too"
    assert len(pages) > 25 and sum("/drills/" in page for page in pages) > 5, "the crawl went into the drill library"
    for address, words in pages.items():
        assert not TRADE.search(words), (address, TRADE.search(words))
        assert not HARSH.search(words) and not HARSH.search(address), (address, HARSH.search(words))
        assert "canary" not in words, address


@pytest.mark.long
def test_a_coach_does_read_what_coaches_write(a_while: Student, as_: Clients) -> None:
    """The crawl can find a canary: it does so for those for whom it was written."""
    found = " ".join(words for _, words in crawl(as_("coach"), reverse("student", args=[a_while.key])))
    assert "note-canary" in found and "words-canary" in found
