"""Each fault's history, as a coach and as a student reads it."""

import re
from collections.abc import Callable
from datetime import UTC, date, datetime
from html import unescape
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from django.conf import settings
from django.template.loader import render_to_string
from django.test import Client
from django.urls import reverse

from coachbook.accounts.models import Coach, Student
from lessons.history import FaultHistory, fault_histories
from lessons.models import Fault, Focus, Lesson, Observation, SeenFault, Session
from lessons.progress.words import COACH, STUDENT, HistoryLabels
from tests.conftest import Cast
from tests.make import make_fault, make_guardian, make_lesson, make_look, make_skill, make_student

Clients = Callable[[str], Client]
SVG = "{http://www.w3.org/2000/svg}"
DONE = {"status": "complete", "completed_at": datetime(2026, 6, 1, 11, tzinfo=UTC)}
DEGREES = {"m": "clear", "s": "slight", "u": "not_graded"}


@pytest.fixture
def pushing(cast: Cast) -> Fault:
    skill = make_skill(name="Lead wrist")
    words = {"name": "{Lead} hand stops", "goal": "{Lead} hand leads on", "plain": "Let your {lead} hand go on."}
    return make_fault(skill, **words)


def arrive(
    student: Student, coach: Coach, days_ago: int, letter: str, fault: Fault, kind: str = "arrival", **values: Any
) -> Lesson:
    """A finished lesson whose look showed: m marked, s slight, u seen and not graded, c good, - not looked at."""
    lesson = make_lesson(student, coach, days_ago=days_ago, **{**DONE, **values})
    look_at(lesson, letter, fault, kind)
    return lesson


def look_at(lesson: Lesson, letter: str, fault: Fault, kind: str = "arrival") -> None:
    if letter == "-":
        return
    look = lesson.looks.filter(kind=kind).first() or make_look(lesson, kind)
    verdict = "good" if letter == "c" else "not_good"
    observation, _ = Observation.objects.get_or_create(look=look, skill=fault.skill, defaults={"verdict": verdict})
    if letter in DEGREES:
        SeenFault.objects.create(observation=observation, fault=fault, degree=DEGREES[letter])


def weeks(cast: Cast, letters: str, fault: Fault) -> list[Lesson]:
    """One arrival a week, the last one on 1 June 2026."""
    last = len(letters) - 1
    return [arrive(cast.student, cast.coach, 7 * (last - n), letter, fault) for n, letter in enumerate(letters)]


def open_focus(lesson: Lesson, fault: Fault, slot: int = 1, **values: Any) -> Focus:
    area = fault.skill.area
    return Focus.objects.create(student=lesson.student, slot=slot, area=area, fault=fault, opened_in=lesson, **values)


def only(student: Student) -> FaultHistory:
    (found,) = fault_histories(student)
    return found


def letters_of(found: FaultHistory) -> str:
    names = {"2": "m", "1": "s", "any": "u", "0": "c", "none": "-"}
    return "".join(names[point.level] for point in found.points)


def page_of(client: Client, student: Student, fault: Fault | None = None) -> str:
    name, args = ("progress_explore", [student.key, fault.pk]) if fault else ("progress", [student.key])
    answer = client.get(reverse(name, args=args))
    assert answer.status_code == 200
    return unescape(answer.content.decode())


# --- What is gathered ---------------------------------------------------------------------------


def test_every_finished_lesson_is_a_point_the_oldest_first(cast: Cast, pushing: Fault) -> None:
    weeks(cast, "ms-uc", pushing)
    found = only(cast.student)
    assert letters_of(found) == "ms-uc"
    assert [point.day for point in found.points][::4] == [date(2026, 5, 4), date(2026, 6, 1)]
    assert {point.coach for point in found.points} == {"Ida Fernkettle"}


def test_a_draft_says_nothing_yet(cast: Cast, pushing: Fault) -> None:
    lesson = make_lesson(cast.student, cast.coach)
    look_at(lesson, "m", pushing)
    open_focus(lesson, pushing)
    assert fault_histories(cast.student) == []


def test_a_departure_is_not_learning(cast: Cast, pushing: Fault) -> None:
    lesson = arrive(cast.student, cast.coach, 7, "m", pushing)
    look_at(lesson, "c", pushing, "departure")
    arrive(cast.student, cast.coach, 0, "m", pushing, "departure")
    assert letters_of(only(cast.student)) == "m-"


def test_a_fault_seen_on_departure_only_has_no_history(cast: Cast, pushing: Fault) -> None:
    arrive(cast.student, cast.coach, 0, "m", pushing, "departure")
    assert fault_histories(cast.student) == []


@pytest.mark.parametrize("kind", ["during", "clip", "course", "test"])
def test_no_other_look_counts(kind: str, cast: Cast, pushing: Fault) -> None:
    weeks(cast, "m", pushing)
    arrive(cast.student, cast.coach, 3, "m", pushing, kind)
    assert letters_of(only(cast.student)) == "-m"


def test_who_did_not_come_did_not_arrive(cast: Cast, pushing: Fault) -> None:
    weeks(cast, "mc", pushing)
    arrive(cast.student, cast.coach, 3, "-", pushing, attendance="absent")
    assert letters_of(only(cast.student)) == "mc"


def test_a_film_sent_in_is_never_an_arrival(cast: Cast, pushing: Fault) -> None:
    weeks(cast, "mc", pushing)
    clip = arrive(cast.student, cast.coach, 3, "m", pushing)
    Session.objects.filter(pk=clip.session_id).update(kind="clip")
    assert letters_of(only(cast.student)) == "mc"


def test_a_skill_that_shows_another_fault_was_looked_at(cast: Cast, pushing: Fault) -> None:
    weeks(cast, "m", pushing)
    other = make_fault(pushing.skill, name="Wrist cups", goal="Flat wrist")
    arrive(cast.student, cast.coach, 7, "s", other)
    found = {row.fault: letters_of(row) for row in fault_histories(cast.student)}
    assert found == {pushing: "cm", other: "sc"}


@pytest.mark.parametrize("verdict", ["not_graded", "not_good"])
def test_a_comment_without_a_verdict_on_it_is_not_good(verdict: str, cast: Cast, pushing: Fault) -> None:
    weeks(cast, "m", pushing)
    look = make_look(arrive(cast.student, cast.coach, 7, "-", pushing))
    Observation.objects.create(look=look, skill=pushing.skill, verdict=verdict, measure=4)
    assert letters_of(only(cast.student)) == "-m"


def test_another_students_arrivals_stay_their_own(cast: Cast, pushing: Fault) -> None:
    arrive(cast.other_student, cast.other_coach, 0, "m", pushing)
    assert fault_histories(cast.student) == []


def test_a_focus_has_a_history_before_anybody_looked(cast: Cast, pushing: Fault) -> None:
    open_focus(weeks(cast, "--", pushing)[0], pushing)
    found = only(cast.student)
    assert (letters_of(found), found.opened_on, found.closed_on) == ("--", date(2026, 5, 25), None)


def test_the_days_of_a_focus_are_those_of_its_lessons(cast: Cast, pushing: Fault) -> None:
    lessons = weeks(cast, "mcc", pushing)
    open_focus(lessons[0], pushing, closed_in=lessons[2])
    found = only(cast.student)
    assert (found.opened_on, found.closed_on, found.is_open) == (date(2026, 5, 18), date(2026, 6, 1), False)


def test_a_focus_closed_in_a_draft_is_still_open(cast: Cast, pushing: Fault) -> None:
    draft = make_lesson(cast.student, cast.coach)
    open_focus(arrive(cast.student, cast.coach, 7, "m", pushing), pushing, closed_in=draft)
    found = only(cast.student)
    assert found.is_open and found.closed_on is None


def test_of_two_focuses_on_the_same_fault_the_later_counts(cast: Cast, pushing: Fault) -> None:
    lessons = weeks(cast, "mcm", pushing)
    open_focus(lessons[0], pushing, closed_in=lessons[1])
    open_focus(lessons[2], pushing)
    assert (only(cast.student).opened_on, only(cast.student).closed_on) == (date(2026, 6, 1), None)


def test_a_focus_that_stands_is_not_hidden_by_a_later_one_that_is_closed(cast: Cast, pushing: Fault) -> None:
    lessons = weeks(cast, "mcm", pushing)
    open_focus(lessons[0], pushing)
    open_focus(lessons[1], pushing, slot=2, closed_in=lessons[2])
    assert only(cast.student).opened_on == date(2026, 5, 18) and only(cast.student).is_open


def test_open_focuses_come_first_by_their_slot_then_the_latest_seen(cast: Cast) -> None:
    old, late, second, first = (make_fault(make_skill(), name=name) for name in ("old", "late", "second", "first"))
    lessons = weeks(cast, "m--", old)
    look_at(lessons[1], "m", late)
    open_focus(lessons[0], second, slot=2)
    open_focus(lessons[1], first, slot=1)
    assert [found.fault for found in fault_histories(cast.student)] == [first, second, late, old]


def test_a_day_is_the_academys(cast: Cast, pushing: Fault, as_: Clients) -> None:
    lesson = arrive(cast.student, cast.coach, 0, "m", pushing)
    Session.objects.filter(pk=lesson.session_id).update(starts_at=datetime(2026, 6, 1, 23, 30, tzinfo=UTC))
    assert "2 Jun 2026" in page_of(as_("coach"), cast.student)


# --- What a page holds --------------------------------------------------------------------------


def test_a_coach_reads_names_degrees_and_how_many_say_nothing(cast: Cast, pushing: Fault, as_: Clients) -> None:
    open_focus(weeks(cast, "ms-uc", pushing)[1], pushing)
    page = page_of(as_("coach"), cast.student)
    assert "Lead hand stops" in page
    assert "Seen on 3 of the 4 arrivals where it was looked at; 1 other lesson had no look and says nothing." in page
    assert "It was opened on a bad day, so some improvement was likely anyway." in page
    assert "opened 11 May 2026" in page
    assert {"clear", "slight", "seen, not graded", "good", "not looked at"} <= set(table_of(page, "Seen on"))


def test_a_focus_opened_on_a_good_day_was_not_opened_on_a_bad_one(cast: Cast, pushing: Fault, as_: Clients) -> None:
    open_focus(weeks(cast, "mc", pushing)[1], pushing)
    assert "bad day" not in page_of(as_("coach"), cast.student)


def test_a_student_reads_the_goal_and_how_it_is_getting(cast: Cast, pushing: Fault, as_: Clients) -> None:
    open_focus(weeks(cast, "ms-uc", pushing)[1], pushing)
    page = page_of(as_("student"), cast.student)
    assert "Left hand leads on" in page and "Good on 1 of the last 4 times we looked." in page
    assert "Worked on since 11 May 2026." in page and "started 11 May 2026" in page
    words = {"still learning", "nearly there", "on the way", "good", "not looked at"}
    assert set(table_of(page, "How it")) == words


@pytest.mark.parametrize("actor", ["student", "guardian"])
@pytest.mark.parametrize("explore", [False, True])
def test_no_word_of_the_trade_reaches_a_student(
    actor: str, explore: bool, cast: Cast, pushing: Fault, as_: Clients
) -> None:
    lessons = weeks(cast, "ms-uc", pushing)
    open_focus(lessons[1], pushing, closed_in=lessons[3], reason="canary reason")
    Lesson.objects.update(note="canary note")
    Observation.objects.update(words="canary words")
    page = page_of(as_(actor), cast.student, pushing if explore else None).lower()
    assert not re.findall(r"fault|marked|\bclear\b|slight|hand stops|canary|\blead\b|\btrail\b", page)
    address = reverse("progress_explore", args=[cast.student.key, pushing.pk])
    assert not re.findall(r"fault|marked|slight", address)


def test_a_manager_reads_as_a_coach_does(cast: Cast, pushing: Fault, as_: Clients) -> None:
    weeks(cast, "m", pushing)
    assert "Lead hand stops" in page_of(as_("manager"), cast.student)


def test_a_left_side_player_reads_the_side_that_was_frozen(cast: Cast, pushing: Fault, as_: Clients) -> None:
    Student.objects.filter(pk=cast.student.pk).update(putting_side="left")
    cast.student.refresh_from_db()
    open_focus(weeks(cast, "mc", pushing)[0], pushing)
    Student.objects.filter(pk=cast.student.pk).update(putting_side="right")
    for fault in (None, pushing):
        page = page_of(as_("student"), cast.student, fault)
        assert "Right hand leads on" in page and "Left hand" not in page


def test_the_side_is_that_of_the_faults_own_area(cast: Cast, as_: Clients) -> None:
    Student.objects.filter(pk=cast.student.pk).update(chipping_side="left")
    cast.student.refresh_from_db()
    chip = make_fault(make_skill(area="chipping"), goal="{Lead} foot carries you")
    open_focus(weeks(cast, "m", chip)[0], chip)
    assert "Right foot carries you" in page_of(as_("student"), cast.student)


def pictures_of(page: str) -> list[ElementTree.Element]:
    found = re.findall(r'<svg class="history".*?</svg>', page, re.DOTALL)
    return [ElementTree.fromstring(text.replace("<svg", '<svg xmlns="http://www.w3.org/2000/svg"')) for text in found]


ROSE = re.compile(r'<g class="rise-(\w+)"')
DAY = ("Arrival", "Lesson")  # what the first column is called, for a coach and for a student


def texts_of(picture: ElementTree.Element, pattern: str) -> list[str]:
    return [text.text or "" for text in picture.iter(f"{SVG}text") if re.fullmatch(pattern, text.text or "")]


def arrivals_of(page: str) -> str:
    """The table of the arrivals of the first history."""
    return re.findall(r'<table class="cards arrivals".*?</table>', page, re.DOTALL)[0]


def table_of(page: str, name: str | tuple[str, ...]) -> list[str]:
    """A column of that table, by the beginning of its heading."""
    head, body = re.findall(r"<t(?:head|body).*?</t(?:head|body)>", arrivals_of(page), re.DOTALL)
    (column,) = (n for n, text in enumerate(re.findall(r"<th [^>]*>(.*?)</th>", head)) if text.startswith(name))
    return [
        re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row)[column] for row in re.findall(r"<tr.*?</tr>", body, re.DOTALL)
    ]


def test_a_student_sees_what_they_work_on_and_not_the_rest(cast: Cast, pushing: Fault, as_: Clients) -> None:
    lessons = weeks(cast, "mc", pushing)
    assert not pictures_of(page_of(as_("student"), cast.student))
    open_focus(lessons[0], pushing)
    assert len(pictures_of(page_of(as_("student"), cast.student))) == 1


@pytest.mark.parametrize("actor", ["coach", "student"])
def test_the_table_says_what_the_picture_shows(actor: str, cast: Cast, pushing: Fault, as_: Clients) -> None:
    """A coach reads on how many looks it was seen; a student on how many it was good."""
    open_focus(weeks(cast, "mm-succ-mscc", pushing)[0], pushing)
    page = page_of(as_(actor), cast.student)
    (picture,) = pictures_of(page)
    if actor == "student":  # whose picture has one dot for each of the latest nine looks, and no numbers
        assert ROSE.findall(page) == ["1", "any", "0", "0", "2", "1", "0", "0"]
        assert texts_of(picture, r"\d/\d") == []
    counts = ["1/1", "2/2", "3/3", "4/4", "4/5", "4/6", "5/7", "6/8", "5/8", "4/8"]
    seen, often = "Seen on", "Seen, of"
    if actor == "student":
        counts = ["0/1", "0/2", "0/3", "0/4", "1/5", "2/6", "2/7", "2/8", "3/8", "4/8"]
        seen, often = "How it", "Good, of"
    assert actor == "student" or texts_of(picture, r"\d/\d") == counts
    assert [count for count in table_of(page, often)[::-1] if count] == counts
    described = picture.findtext(f"{SVG}desc", "")
    shown = 9 if actor == "student" else 12
    for day, word in list(zip(table_of(page, DAY), table_of(page, seen), strict=True))[:shown]:
        assert f"{day} {word}" in described


def test_the_picture_and_its_table_show_twelve_and_the_page_to_zoom_all(
    cast: Cast, pushing: Fault, as_: Clients
) -> None:
    weeks(cast, "m" * 14, pushing)
    page = page_of(as_("coach"), cast.student)
    assert len(texts_of(pictures_of(page)[0], r"\d/\d")) == len(table_of(page, "Arrival")) == 12
    assert "2 earlier: zoom in to see them all." in page
    assert len(table_of(page_of(as_("coach"), cast.student, pushing), "Arrival")) == 14


def test_a_picture_is_named_described_and_small(cast: Cast, pushing: Fault, as_: Clients) -> None:
    lessons = weeks(cast, "ms-ucmsuc-mmm", pushing)
    Session.objects.filter(pk=lessons[4].session_id).update(coach=cast.cover)
    for lesson in lessons:
        look_at(lesson, "u", pushing, "departure")
    open_focus(lessons[1], pushing, closed_in=lessons[7])
    page = page_of(as_("coach"), cast.student)
    (text,) = re.findall(r'<svg class="history".*?</svg>', page, re.DOTALL)
    assert len(text.encode()) <= 10 * 1024 and "style=" not in text
    (picture,) = pictures_of(page)
    ids = {element.get("id"): element.text for element in picture.iter() if element.get("id")}
    assert picture.get("role") == "img" and ids[picture.get("aria-labelledby")] == "Lead hand stops"
    assert "opened" in ids[picture.get("aria-describedby")]


def test_the_symbols_are_those_of_the_rest_of_the_site(cast: Cast, pushing: Fault, as_: Clients) -> None:
    weeks(cast, "msuc-", pushing)
    (picture,) = pictures_of(page_of(as_("coach"), cast.student))
    files = {"2": "clear", "1": "slight", "any": "not_graded", "0": "good", "none": "not_looked_at"}
    for level, name in files.items():
        (group,) = (group for group in picture.iter(f"{SVG}g") if group.get("class") == f"level-{level}")
        symbol = Path(settings.BASE_DIR, f"templates/symbols/{name}.svg").read_text()
        shapes = [shape.get("d") or f'r="{shape.get("r")}"' for shape in group]
        assert shapes and all(shape in symbol for shape in shapes)
        assert len(shapes) == symbol.count("<path") + symbol.count("<circle")


@pytest.mark.parametrize("labels", [COACH, STUDENT], ids=["coach", "student"])
def test_every_entry_of_the_legend_has_words_and_a_shape_of_its_own(labels: HistoryLabels) -> None:
    """Shapes, not colours, tell the levels apart: each is drawn with other lines, in one colour."""
    page = render_to_string("loop/progress/legend.html", {"labels": labels, "teaches": labels is COACH})
    entries = re.findall(r"<li>(.*?)</li>", page, re.DOTALL)
    words = [" ".join(re.sub(r"<[^>]+>", " ", entry).split()) for entry in entries]
    shapes = [tuple(re.findall(r"<(?:path|circle) [^>]*>", entry)) for entry in entries]
    assert words == [labels.levels[level] for level in ("0", "1", "2", "any", "none")]
    assert len(set(words)) == len(set(shapes)) == 5
    assert not any(one != other and one in other.split(",")[0] for one in words for other in words)
    assert set(re.findall(r"(?:fill|stroke)=\"(.*?)\"", page)) == {"none", "currentColor"}


def test_an_empty_page_is_kind(cast: Cast, as_: Clients) -> None:
    assert "This page fills by itself" in page_of(as_("student"), cast.student)
    assert "This page begins with the first finished lesson." in page_of(as_("coach"), cast.student)


def test_a_page_asks_the_database_no_more_for_a_long_history(
    cast: Cast, pushing: Fault, as_: Clients, django_assert_max_num_queries: Any
) -> None:
    others = [make_fault(make_skill()) for _ in range(6)]
    for number, lesson in enumerate(weeks(cast, "m" * 30, pushing)):
        look_at(lesson, "s", others[number % 6])
    open_focus(Lesson.objects.earliest("pk"), pushing)
    for actor in ("coach", "student", "guardian"):
        as_(actor).get("/")
        with django_assert_max_num_queries(12):
            page_of(as_(actor), cast.student)
        with django_assert_max_num_queries(12):
            page_of(as_(actor), cast.student, pushing)


def test_gathering_takes_four_queries_at_most(cast: Cast, pushing: Fault, django_assert_max_num_queries: Any) -> None:
    open_focus(weeks(cast, "m" * 20, pushing)[0], pushing)
    student = Student.objects.get(pk=cast.student.pk)
    with django_assert_max_num_queries(4):
        fault_histories(student)


# --- The ladder ---------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["progress", "progress_explore"])
def test_a_stranger_finds_nothing_and_nobody_posts(name: str, cast: Cast, pushing: Fault, as_: Clients) -> None:
    weeks(cast, "m", pushing)
    address = reverse(name, args=[cast.student.key, pushing.pk][: 1 + (name == "progress_explore")])
    assert as_("other_student").get(address).status_code == 404
    assert as_("other_coach").get(address).status_code == 404
    assert as_("coach").post(address).status_code == 405


def test_a_fault_without_a_history_here_is_not_found(cast: Cast, pushing: Fault, as_: Clients) -> None:
    arrive(cast.other_student, cast.other_coach, 0, "m", pushing)
    assert as_("coach").get(reverse("progress_explore", args=[cast.student.key, pushing.pk])).status_code == 404
    assert as_("coach").get(reverse("progress_explore", args=[cast.student.key, 987654])).status_code == 404


def test_a_guardian_of_two_sees_each_child_alone(cast: Cast, pushing: Fault) -> None:
    sister = make_student("Wren Quimble", coach=cast.coach)
    parent = make_guardian("Piers Quimble", cast.student)
    parent.guardianships.create(student=sister)
    weeks(cast, "m", pushing)
    arrive(sister, cast.coach, 0, "c", pushing)
    client = Client()
    client.force_login(parent)
    assert "Wren Quimble" not in page_of(client, cast.student)
