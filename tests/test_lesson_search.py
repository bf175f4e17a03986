"""The timeline of a student, and the search in it: everything that a reader may read, and nothing else."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.logs import without_secrets
from coachbook.loop.record import search
from coachbook.loop.sheets.issue import issue_sheet
from lessons.matching import contains_all, excerpt, hits_in, words_of
from lessons.models import Focus, Lesson, Observation, Outcome, SeenFault
from tests.conftest import Cast
from tests.make import make_drill, make_fault, make_lesson, make_look, make_prescription, make_skill

Clients = Callable[[str], Client]
DONE: dict[str, Any] = {"status": "complete", "pitching": False, "bunker": False}


@pytest.fixture
def lessons(cast: Cast) -> list[Lesson]:
    """Two finished lessons and a draft, each of their words once, for one kind of reader."""
    fault = make_fault(
        make_skill(name="Skill-heron"), name="Fault-heron", goal="{Lead} goal-heron", plain="Plain-heron", feel="x"
    )
    first = make_lesson(
        cast.student, cast.coach, days_ago=14, completed_at=timezone.now(), chipping=False, keep="Keep-heron", **DONE
    )
    words = {"note": "Note-heron-student", "note_reader": "student", "next_time": "Plan-heron"}
    second = make_lesson(cast.student, cast.coach, completed_at=timezone.now(), **DONE, **words)
    draft = make_lesson(cast.student, cast.coach, days_ago=-1, keep="Draft-heron")
    Lesson.objects.filter(pk=first.pk).update(note="Note-heron-coach", note_reader="coach")
    row = Observation.objects.create(
        look=make_look(first), skill=fault.skill, verdict="not_good", words="Word-heron-coach"
    )
    SeenFault.objects.create(observation=row, fault=fault, degree="clear")
    other = {"look": make_look(first, "departure"), "skill": make_skill(), "verdict": "good"}
    Observation.objects.create(words="Word-heron-academy", reader="academy", **other)
    about: dict[str, Any] = {"student": cast.student, "area": "putting", "slot": 1}
    focus = Focus.objects.create(
        fault=fault, feel="Feel-heron", reason="Reason-heron", opened_in=first, closed_in=second, **about
    )
    make_prescription(first, focus, drill=make_drill(name="Drill-heron"), mark="Target-heron")
    issue_sheet(lesson=Lesson.objects.get(pk=first.pk), at=timezone.now())
    Outcome.objects.create(
        lesson=second, before=first, student=cast.student, coach=cast.coach, fault=fault, verdict="held", days=14,
        day="2026-06-01",
    )  # fmt: skip
    return [first, second, draft]


def find(client: Client, cast: Cast, q: str) -> Any:
    return client.get(reverse("lesson_search", args=[cast.student.key]), {"q": q})


def found(client: Client, cast: Cast) -> set[str]:
    """Every planted word that the search shows."""
    html = re.sub(r"</?mark>", "", find(client, cast, "heron").content.decode())
    return set(re.findall(r"\w+-heron(?:-\w+)?", html))


OPEN = {"Keep-heron", "Plan-heron", "Note-heron-student", "Feel-heron", "Drill-heron", "Target-heron"}
COACHES = OPEN | {"Fault-heron", "Skill-heron", "Reason-heron", "Word-heron-academy", "Draft-heron"}
STUDENTS = OPEN | {"goal-heron", "Plain-heron"}
PRIVATE = {"Note-heron-coach", "Word-heron-coach"}


@pytest.mark.parametrize(
    ("actor", "words"),
    [("coach", COACHES | PRIVATE), ("manager", COACHES | PRIVATE), ("cover", COACHES)]
    + [(actor, STUDENTS) for actor in ("student", "guardian")],
)
def test_each_finds_what_they_may_read_and_nothing_else(
    actor: str, words: set[str], lessons: list[Lesson], cast: Cast, as_: Clients, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(search, "HITS_SHOWN", 100)
    assert found(as_(actor), cast) - {"goal-heron", "Plain-heron"} == words - {"goal-heron", "Plain-heron"}
    if actor in ("student", "guardian"):
        assert found(as_(actor), cast) >= {"goal-heron", "Plain-heron"}


def test_of_many_places_those_with_most_of_the_words_are_shown(lessons: list[Lesson], cast: Cast, as_: Clients) -> None:
    page = re.sub(r"</?mark>", "", find(as_("coach"), cast, "heron target").content.decode())
    assert "Target-heron" in page and "more places." in page
    assert page.count("-heron") <= search.HITS_SHOWN + page.count("Skill-heron") + 1


@pytest.mark.parametrize("hidden", ["Note-heron-coach", "Word-heron-coach"])
def test_that_a_hidden_word_is_there_cannot_be_found_out(
    hidden: str, lessons: list[Lesson], cast: Cast, as_: Clients
) -> None:
    for actor in ("cover", "student", "guardian"):
        page, nothing = (find(as_(actor), cast, word).content.decode() for word in (hidden, "nowhere-to-be-read"))
        assert "No lesson has these words." in page and page.count("<li>") == nothing.count("<li>"), actor
    assert "No lesson has these words." in find(as_("student"), cast, "Draft-heron").content.decode()


def test_a_withdrawn_sheet_is_not_searched_by_the_family(lessons: list[Lesson], cast: Cast, as_: Clients) -> None:
    lessons[0].sheets.update(voided_at=timezone.now(), void_reason="wrong")
    assert "Plain-heron" not in found(as_("student"), cast)


def test_capitals_and_accents_make_no_difference(cast: Cast, as_: Clients) -> None:
    make_lesson(cast.student, cast.coach, keep="ÜBER die Straße, très calme", completed_at=timezone.now(), **DONE)
    for q in ("über", "UBER", "strasse", "STRASSE", "TRÈS", "tres"):
        page = find(as_("coach"), cast, q).content.decode()
        assert "1 lesson." in page and "<mark>" in page, q


def test_all_words_must_stand_somewhere_in_the_lesson(lessons: list[Lesson], cast: Cast, as_: Clients) -> None:
    assert "1 lesson." in find(as_("coach"), cast, "drill-heron KEEP-heron").content.decode()
    assert "No lesson has these words." in find(as_("coach"), cast, "keep-heron plan-heron").content.decode()


@pytest.mark.parametrize("q", ["", "   ", "\x00", "<script>", "%", "_", "x" * 5000, "💥", "' OR 1=1 --"])
def test_whatever_is_typed_it_answers(q: str, lessons: list[Lesson], cast: Cast, as_: Clients) -> None:
    page = find(as_("student"), cast, q)
    assert page.status_code == 200 and "<script>" not in page.content.decode().split("<main")[1]
    assert "-heron" not in page.content.decode()


def test_it_takes_at_most_twelve_queries(
    lessons: list[Lesson], cast: Cast, as_: Clients, django_assert_max_num_queries: Any
) -> None:
    for actor in ("coach", "student"):
        client = as_(actor)
        find(client, cast, "heron")
        with django_assert_max_num_queries(12):
            find(client, cast, "heron")


def test_an_excerpt_shows_the_words_around_the_hit() -> None:
    text = " ".join(["before"] * 30 + ["Hit"] + ["after"] * 30)
    parts = excerpt(text, hits_in(text, words_of("hit")))
    assert [part.words for part in parts if part.is_hit] == ["Hit"]
    whole = "".join(part.words for part in parts)
    assert whole.startswith("… before") and whole.endswith("after …") and len(whole) < 160
    assert contains_all(["Größe", "Länge"], words_of("lange GROSSE")) and not contains_all(["Größe"], words_of("lange"))
    assert hits_in("abc abd", ["ab", "bc"]) == [(0, 2), (4, 5)]
    assert "".join(part.words for part in excerpt("Ein ﬁt", hits_in("Ein ﬁt", ["fi"]))) == "Ein ﬁt"


def test_the_words_that_were_searched_for_are_not_logged(cast: Cast) -> None:
    address = reverse("lesson_search", args=[cast.student.key])
    assert "knee" not in without_secrets(f'"GET {address}?q=knee+pain HTTP/1.1" 200')


# --- The timeline ---------------------------------------------------------------------------------


def lines(client: Client, cast: Cast) -> list[str]:
    html = client.get(reverse("student", args=[cast.student.key])).content.decode()
    rows = re.findall(r'<ul class="timeline">(.*?)</ul>', html, re.DOTALL)[0].split("</li>")[:-1]
    return [re.sub(r"\s+", " ", re.sub(r"<[^>]+>", "", row)).strip() for row in rows]


def test_a_coach_scans_a_line_a_lesson(lessons: list[Lesson], cast: Cast, as_: Clients) -> None:
    draft, second, first = lines(as_("coach"), cast)
    assert "not finished" in draft
    assert second == "1 Jun 2026 Putting, chipping; closed Fault-heron; held Ida Fernkettle"
    assert first == "18 May 2026 Putting; opened Fault-heron Ida Fernkettle Sheet"


def test_what_held_stands_beside_what_would_have_looked_good_anyway(
    lessons: list[Lesson], cast: Cast, as_: Clients
) -> None:
    """Of one change as a share of ten, of several as a count; a student reads the counts alone."""
    row = Outcome.objects.get(lesson=lessons[1])
    Outcome.objects.filter(pk=row.pk).update(anyway=0.62)
    assert "; held; about 6 of 10 would have looked good anyway Ida Fernkettle" in lines(as_("coach"), cast)[1]
    for verdict, anyway in (("lost", 0.58), ("held", None)):
        fields = {"student": row.student, "lesson": row.lesson, "before": row.before, "coach": row.coach}
        of_row = {"day": row.day, "days": row.days, "fault": make_fault(make_skill()), "anyway": anyway}
        Outcome.objects.create(**fields, **of_row, verdict=verdict)
    assert "; 2 of 3 held; about 2 of 3 would have looked good anyway Ida Fernkettle" in lines(as_("coach"), cast)[1]
    assert "; 2 of 3 held Ida Fernkettle" in lines(as_("student"), cast)[0]


def test_a_student_reads_what_to_do_in_its_place(lessons: list[Lesson], cast: Cast, as_: Clients) -> None:
    second, first = lines(as_("student"), cast)
    assert "closed Left goal-heron; held Ida Fernkettle" in second and "Plan-heron" in second
    assert "opened Left goal-heron" in first and "Keep-heron" in first
    assert not any("Fault" in line or "coach" in line.replace("From your coach", "") for line in (first, second))
