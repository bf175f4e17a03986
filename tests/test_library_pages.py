"""The library of drills: searched by words, narrowed by what a drill needs, and read by those whose it is."""

from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from drills.models import Drill, Fit
from lessons.models import Focus
from tests.conftest import Cast
from tests.crawl import Reader
from tests.make import make_drill, make_fault, make_lesson, make_prescription, make_skill

Clients = Callable[[str], Client]
FEW = 12  # queries a page


def names_on(client: Client, **asked: str) -> list[str]:
    """The drills that the library lists, in its order."""
    answer = client.get(reverse("drills"), asked)
    return [str(row) for shelf in answer.context["by_area"] for _, rows in shelf.kinds for row in rows]


def text_of(answer: Any) -> str:
    return Reader(answer.content.decode()).text


@pytest.fixture
def library(cast: Cast) -> dict[str, Drill]:
    """Four drills of the academy, one of the coach's own, one of another coach's, and one that is archived."""
    rows = {
        "gate": make_drill(name="Gate", items=["tees"], places=["green", "carpet"], minutes=10, game="Goal!"),
        "café": make_drill(name="Café putts", setup="Hold it with your {lead} hand.", minutes=20, kind="play"),
        "chip": make_drill(name="Landing towel", area="chipping", items=["towel"], places=["grass"], minutes=15),
        "sand": make_drill(name="Line in the sand", area="bunker", places=["sand"], minutes=5),
        "own": make_drill("own-roll", name="Quiet roll", owner=cast.coach, minutes=5),
        "other": make_drill("own-other", name="Long roll", owner=cast.other_coach, minutes=5),
        "past": make_drill(name="Past gate", archived=True),
    }
    rows["gate"].child_minutes = 5
    rows["gate"].save()
    return rows


def test_words_are_found_in_every_text_whatever_capitals_and_accents(library: dict[str, Drill], as_: Clients) -> None:
    coach, student = as_("coach"), as_("student")
    assert names_on(coach, q="CAFE") == ["Café putts"]
    assert names_on(coach, q="towel") == ["Landing towel"]
    assert names_on(coach, q="lead hand") == ["Café putts"]
    assert names_on(student, q="left hand") == ["Café putts"] and names_on(student, q="lead hand") == []
    assert names_on(coach, q="gate sand") == []
    assert "No drill has all of this" in text_of(coach.get(reverse("drills"), {"q": "gate sand"}))


def test_each_filter_narrows_the_list(library: dict[str, Drill], as_: Clients) -> None:
    fault, other = (make_fault(make_skill(name=name)) for name in ("Grip", "Stance"))
    Fit.objects.create(drill=library["gate"], fault=fault)
    Fit.objects.create(drill=library["café"], fault=fault, is_wrong=True)
    coach = as_("coach")
    for asked, expected in (
        ({"area": "putting"}, ["Gate", "Quiet roll", "Café putts"]),
        ({"fault": fault.code}, ["Gate"]),
        ({"fault": other.code}, []),
        ({"item": "tees"}, ["Gate"]),
        ({"place": "carpet"}, ["Gate"]),
        ({"place": "sand"}, ["Line in the sand"]),
        ({"minutes": "10"}, ["Gate", "Quiet roll", "Line in the sand"]),
        ({"child": "on"}, ["Gate"]),
        ({"child": "on", "minutes": "5"}, ["Gate"]),
        ({"child": "on", "minutes": "4"}, []),
        ({"minutes": "10", "area": "putting", "q": "roll"}, ["Quiet roll"]),
    ):
        assert names_on(coach, **asked) == expected, asked


def test_who_finds_whose_drills(library: dict[str, Drill], as_: Clients) -> None:
    academy = ["Gate", "Café putts", "Landing towel", "Line in the sand"]
    with_own = ["Gate", "Quiet roll", "Café putts", "Landing towel", "Line in the sand"]
    for actor, whose, expected in (
        ("student", "", academy),
        ("student", "archived", []),
        ("student", "coaches", academy),
        ("guardian", "own", []),
        ("coach", "", with_own),
        ("coach", "own", ["Quiet roll"]),
        ("coach", "coaches", with_own),
        ("coach", "archived", []),
        ("other_coach", "own", ["Long roll"]),
        ("manager", "", academy),
        ("manager", "coaches", ["Quiet roll", "Long roll"]),
        ("manager", "archived", ["Past gate"]),
    ):
        assert names_on(as_(actor), whose=whose) == expected, (actor, whose)


def test_a_student_searches_by_no_fault_and_reads_none(library: dict[str, Drill], as_: Clients) -> None:
    Fit.objects.create(drill=library["gate"], fault=make_fault(make_skill(), name="Squeezing"))
    pages = [reverse("drills"), reverse("drill", args=[library["gate"].code])]
    for page in pages:
        assert "Squeezing" in text_of(as_("coach").get(page)) and "Squeezing" not in text_of(as_("student").get(page))


def test_what_cannot_be_searched_for_is_said_beside_its_field(library: dict[str, Drill], as_: Clients) -> None:
    for asked, words in (
        ({"minutes": "ten"}, "Type a whole number from 1 to 120."),
        ({"minutes": "0"}, "Type a whole number from 1 to 120."),
        ({"q": "g" * 101}, "at most 100 characters"),
    ):
        answer = as_("coach").get(reverse("drills"), asked)
        assert answer.status_code == 422 and words in text_of(answer), asked
        assert f'value="{next(iter(asked.values()))}"' in answer.content.decode()


def test_a_list_that_replaces_another_holds_nothing_else(library: dict[str, Drill], as_: Clients) -> None:
    answer = as_("coach").get(reverse("drills"), {"q": "gate"}, headers={"HX-Request": "true"})
    assert "1 of 5 drills" in text_of(answer) and "<form" not in answer.content.decode()
    assert "HX-Request" in answer.headers["Vary"]


def test_the_number_of_queries_does_not_grow(library: dict[str, Drill], as_: Clients) -> None:
    for number in range(5):
        drill = make_drill(name=f"Drill {number}")
        Fit.objects.create(drill=drill, fault=make_fault(make_skill(name=f"Skill {number}")))
    for actor in ("student", "guardian", "coach", "manager"):
        for page in (reverse("drills"), reverse("drill", args=[library["gate"].code])):
            client = as_(actor)
            with CaptureQueriesContext(
                connection,
            ) as asked:
                assert client.get(page).status_code == 200
            assert len(asked) <= FEW, (actor, page, len(asked))


def test_a_coachs_own_drill_is_read_by_those_who_have_it_and_nobody_else(cast: Cast, as_: Clients) -> None:
    drill = make_drill("own-roll", name="Quiet roll", owner=cast.coach)
    lesson = make_lesson(cast.student, cast.coach)
    focus = Focus.objects.create(
        student=cast.student, opened_in=lesson, slot=1, area="putting", fault=make_fault(make_skill())
    )
    make_prescription(lesson, focus, drill=drill)
    everybody = ("student", "guardian", "coach", "cover", "manager", "other_student", "past_guardian", "other_coach")

    def readers() -> list[str]:
        answers = {actor: as_(actor).get(reverse("drill", args=[drill.code])).status_code for actor in everybody}
        assert set(answers.values()) <= {200, 404}
        return [actor for actor, status in answers.items() if status == 200]

    assert readers() == ["coach", "manager"], "the lesson is not finished"
    lesson.status, lesson.completed_at = "complete", timezone.now()
    lesson.save()
    assert readers() == ["student", "guardian", "coach", "cover", "manager"]
