"""Notes have readers: who taught the lesson alone, every coach who teaches the student, or the student, too."""

import gzip
import re
from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.loop.models import Sheet
from coachbook.loop.sheets.content import content_from
from coachbook.loop.sheets.gather import content_of
from coachbook.loop.sheets.issue import issue_sheet
from lessons.models import Fault, Focus, Lesson, Observation, Reader, Skill
from tests.conftest import Cast
from tests.crawl import crawl, pdf_text
from tests.library import load_library
from tests.make import make_lesson, make_look, make_manager
from tests.test_log import GRIP, HTMX, Page, message_beside

pytestmark = [pytest.mark.one_database, pytest.mark.long]
Clients = Callable[[str], Client]
SKILLS = {"coach": GRIP, "academy": "putting-stance-width", "student": "putting-ball-position"}
READERS = list(SKILLS)


@pytest.fixture(autouse=True)
def catalogue(cast: Cast) -> None:
    load_library()


def canary(kind: str, reader: str) -> str:
    return f"{kind}-heron-{reader}"


@pytest.fixture
def planted(cast: Cast) -> list[Lesson]:
    """Three finished lessons of the main coach, with a note and a few words for each of the three readers."""
    lessons = []
    for days, reader in enumerate(READERS):
        words = {"note": canary("note", reader), "note_reader": reader}
        done = {"status": "complete", "completed_at": timezone.now()}
        lesson = make_lesson(cast.student, cast.coach, days_ago=days, **words, **done)
        for kind in ("arrival", "departure"):
            look = make_look(lesson, kind)
            for to, code in SKILLS.items():
                row = {"skill": Skill.objects.get(code=code), "verdict": "good", "reader": to}
                Observation.objects.create(look=look, words=canary(kind, to), **row)
        lessons.append(lesson)
    for lesson in lessons:
        issue_sheet(lesson=lesson, at=timezone.now())
    return lessons


def found(words: str, reader: str) -> set[str]:
    """The kinds of words for one reader that are in this."""
    return set(re.findall(rf"(\w+)-heron-{reader}\b", words))


ALL = {"note", "arrival", "departure"}


@pytest.mark.parametrize("actor", ["student", "guardian"])
def test_they_read_what_is_for_the_student_and_nothing_else(actor: str, planted: list[Lesson], as_: Clients) -> None:
    pages = dict(crawl(as_(actor)))
    sheets = [words for address, words in pages.items() if "/sheet" in address and words]
    papers = [words for address, words in pages.items() if address.endswith("/pdf/") and words]
    assert len(papers) == 3 and len(sheets) >= 6
    for address, words in pages.items():
        assert not found(words, "coach") and not found(words, "academy"), address
    assert all(found(words, "student") >= {"arrival", "departure"} for words in sheets)
    assert sum("note" in found(words, "student") for words in papers) == 1
    home = next(
        words for address, words in pages.items() if address == reverse("student", args=[planted[0].student.key])
    )
    assert f"From your coach: {canary('note', 'student')}" in home


@pytest.mark.long
@pytest.mark.parametrize("actor", ["cover", "assistant"])
def test_another_coach_finds_nothing_that_was_for_its_writer_alone(
    actor: str, planted: list[Lesson], cast: Cast, as_: Clients
) -> None:
    pages = dict(crawl(as_(actor), reverse("student", args=[cast.student.key])))
    logs = [reverse("lesson", args=[cast.student.key, lesson.key]) for lesson in planted]
    assert set(logs) <= set(pages)
    every = " ".join(pages.values())
    assert found(every, "coach") == set()
    assert found(every, "academy") == ALL and found(every, "student") == ALL
    private = [pages[log].count("Ida Fernkettle has a private note here.") for log in logs]
    assert private == [3, 2, 2], "the note of the first lesson, and the words beside both looks of each"


@pytest.mark.long
@pytest.mark.parametrize("actor", ["coach", "manager"])
def test_who_taught_it_and_a_manager_read_all(actor: str, planted: list[Lesson], cast: Cast, as_: Clients) -> None:
    every = " ".join(dict(crawl(as_(actor), reverse("student", args=[cast.student.key]))).values())
    assert all(found(every, reader) == ALL for reader in READERS)


@pytest.mark.parametrize(("actor", "status"), [("student", 403), ("guardian", 403), ("other_coach", 404)])
def test_the_log_itself_is_for_those_who_teach(actor: str, status: int, planted: list[Lesson], as_: Clients) -> None:
    address = reverse("lesson", args=[planted[0].student.key, planted[0].key])
    answer = as_(actor).get(address)
    assert answer.status_code == status and "heron" not in answer.content.decode()


def test_a_lesson_by_the_cover_is_kept_from_the_main_coach_in_the_same_way(cast: Cast, as_: Clients) -> None:
    words = {"note": "cover-heron", "status": "complete", "completed_at": timezone.now()}
    lesson = make_lesson(cast.student, cast.cover, **words)
    address = reverse("lesson", args=[cast.student.key, lesson.key])
    assert "cover-heron" not in as_("coach").get(address).content.decode()
    assert "cover-heron" in as_("cover").get(address).content.decode()


def test_a_manager_who_also_teaches_reads_and_saves_it_without_changing_its_reader(
    planted: list[Lesson], cast: Cast, as_: Clients
) -> None:
    make_manager(cast.cover.user)
    page = Page(as_("cover"), cast.student, reverse("lesson", args=[cast.student.key, planted[0].key]))
    assert "Ida Fernkettle and the managers" in page.answer.content.decode()
    page.send(HTMX, note=canary("note", "coach"), keep="Calm")
    lesson = Lesson.objects.get(pk=planted[0].pk)
    assert (lesson.note, lesson.note_reader, lesson.keep) == (canary("note", "coach"), "coach", "Calm")


# --- Writing ------------------------------------------------------------------------------------


@pytest.fixture
def page(cast: Cast, as_: Clients) -> Page:
    return Page(as_("coach"), cast.student)


def test_what_is_written_is_for_its_writer_alone_until_they_say_otherwise(page: Page) -> None:
    page.send(note="Mine", **{f"a.{GRIP}.words": "Mine, too"})
    assert Lesson.objects.get().note_reader == "coach" and Observation.objects.get().reader == "coach"


@pytest.mark.parametrize("reader", READERS)
def test_one_tap_names_the_reader_and_the_page_shows_it(reader: str, page: Page) -> None:
    page.send(note="Calm", note_reader=reader, **{f"a.{GRIP}.words": "Low", f"a.{GRIP}.reader": reader})
    assert Lesson.objects.get().note_reader == reader and Observation.objects.get().reader == reader
    html = page.client.get(page.address).content.decode()
    note = re.findall(r'<input type="radio" name="note_reader" value="(\w+)"[^>]* checked', html)
    words = re.search(r'<select name="a\.putting-grip\.reader">.*?<option value="(\w+)" selected>', html)
    assert note == [reader] and words and words[1] == reader


def test_a_later_save_without_a_reader_leaves_it_as_it_was(page: Page) -> None:
    page.send(note="Calm", note_reader="student", **{f"a.{GRIP}.words": "Low", f"a.{GRIP}.reader": "student"})
    del page.typed["note_reader"], page.typed[f"a.{GRIP}.reader"]
    page.send(note="Calm", count="2", **{f"a.{GRIP}.words": "Lower"})
    assert Lesson.objects.get().note_reader == "student"
    assert [(row.words, row.reader) for row in Observation.objects.all()] == [("Lower", "student")]


def test_a_reader_nobody_knows_is_refused_beside_its_field_and_nothing_typed_is_lost(page: Page) -> None:
    answer = page.send(note="Calm", note_reader="press", **{f"a.{GRIP}.words": "Low", f"a.{GRIP}.reader": "press"})
    assert answer.status_code == 422 and message_beside(answer, "id_note_reader")
    assert "Calm" in answer.content.decode()
    assert Lesson.objects.get().note_reader == "coach" and Observation.objects.get().reader == "coach"


def test_it_is_plainly_said_that_all_of_it_may_have_to_be_disclosed(page: Page) -> None:
    html = page.answer.content.decode()
    assert "may ask to see everything that is written about them" in html
    assert all(label in html for label in ("me and the managers", "every coach who teaches them", "the student, too"))


def test_the_page_stays_light(page: Page) -> None:
    assert len(gzip.compress(page.answer.content)) < 40_000  # of 100 kB with its styles and scripts


# --- Another coach writes into the lesson ---------------------------------------------------------


@pytest.fixture
def others(planted: list[Lesson], cast: Cast, as_: Clients) -> Page:
    """The main coach's lesson with the private note, open before the cover coach."""
    return Page(as_("cover"), cast.student, reverse("lesson", args=[cast.student.key, planted[0].key]))


def private() -> list[tuple[str, str]]:
    rows = Observation.objects.filter(skill__code=GRIP, look__lesson__note_reader="coach").order_by("look__kind")
    return [(row.words, row.reader) for row in rows]


def test_saving_wipes_none_of_the_words_that_were_hidden(others: Page, planted: list[Lesson]) -> None:
    before = private()
    typed = {f"{letter}.{GRIP}.good": "on" for letter in "ad"}
    assert others.send(keep="A calm stroke", **typed).status_code == 302
    lesson = Lesson.objects.get(pk=planted[0].pk)
    assert (lesson.keep, lesson.note, lesson.note_reader) == ("A calm stroke", canary("note", "coach"), "coach")
    assert private() == before and before[0][0] == canary("arrival", "coach")


def test_taking_a_look_back_leaves_the_hidden_words(others: Page) -> None:
    before = private()
    others.send(keep="A calm stroke")
    assert private() == before


def test_words_typed_where_others_are_kept_are_refused_and_not_lost(others: Page, planted: list[Lesson]) -> None:
    before = private()
    typed = {"note": "My own note", "note_reader": "academy", f"a.{GRIP}.words": "My own words"}
    answer = others.send(**typed)
    html = answer.content.decode()
    assert answer.status_code == 422 and "My own note" in html and "My own words" in html
    assert "has a private note here" in message_beside(answer, "id_note")
    assert "has a private note here" in message_beside(answer, f"a-{GRIP}")
    assert private() == before and Lesson.objects.get(pk=planted[0].pk).note == canary("note", "coach")
    assert "heron-coach" not in html


def test_only_who_taught_it_can_say_only_me(cast: Cast, as_: Clients) -> None:
    lesson = make_lesson(cast.student, cast.coach)
    page = Page(as_("cover"), cast.student, reverse("lesson", args=[cast.student.key, lesson.key]))
    assert "me and the managers" not in page.answer.content.decode()
    assert page.send(note="Shared", note_reader="coach").status_code == 422
    page.send(note="Shared", count="2", note_reader="", **{f"a.{GRIP}.words": "Shared, too"})
    lesson.refresh_from_db()
    assert (lesson.note, lesson.note_reader, Observation.objects.get().reader) == ("Shared", "academy", "academy")


def test_what_is_for_every_coach_another_one_may_change(planted: list[Lesson], cast: Cast, as_: Clients) -> None:
    page = Page(as_("cover"), cast.student, reverse("lesson", args=[cast.student.key, planted[1].key]))
    assert canary("note", "academy") in page.answer.content.decode()
    assert page.send(note="Said better", note_reader="student").status_code == 302
    lesson = Lesson.objects.get(pk=planted[1].pk)
    assert (lesson.note, lesson.note_reader) == ("Said better", "student")


# --- The sheet ----------------------------------------------------------------------------------


def test_a_word_from_the_coach_stands_on_the_sheet_as_it_was_that_day(
    planted: list[Lesson], cast: Cast, as_: Clients
) -> None:
    sheet = Sheet.objects.get(lesson=planted[2])
    Lesson.objects.filter(pk=planted[2].pk).update(note="Changed later")
    names = [reverse(name, args=[cast.student.key, sheet.key]) for name in ("sheet", "sheet_pdf")]
    page, paper = (as_("student").get(name).content for name in names)
    assert "From your coach" in page.decode() and canary("note", "student") in page.decode()
    assert canary("note", "student") in pdf_text(paper) and "Changed later" not in pdf_text(paper)


def test_the_words_beside_a_look_say_what_they_are_about_from_the_players_side(cast: Cast) -> None:
    cast.student.putting_side = "left"
    fault = Fault.objects.get(code="putting-lead-wrist-cups")
    lesson = make_lesson(cast.student, cast.coach, putting=True)
    lesson.putting_side = "left"
    row = {"skill": fault.skill, "verdict": "good", "reader": Reader.STUDENT}
    Observation.objects.create(look=make_look(lesson), words="Much calmer", **row)
    assert content_of(lesson, cast.academy).coach_words == ("Right wrist: Much calmer",)


def test_a_sheet_that_was_stored_before_still_reads(planted: list[Lesson], cast: Cast, as_: Clients) -> None:
    sheet = Sheet.objects.get(lesson=planted[2])
    stored = {name: value for name, value in sheet.content.items() if name not in ("coach_words", "child")}
    Sheet.objects.filter(pk=sheet.pk).update(content=stored)
    assert content_from(stored).coach_words == ()
    for name in ("sheet", "sheet_pdf"):
        assert as_("student").get(reverse(name, args=[cast.student.key, sheet.key])).status_code == 200


def test_done_pressed_again_after_the_reader_changed_issues_a_sheet_without_the_note(page: Page) -> None:
    page.send(note="For you", note_reader="student", done="1")
    page.open()
    page.send(note="For you", note_reader="coach", done="1")
    words = [content_from(sheet.content).coach_words for sheet in Sheet.objects.order_by("pk")]
    assert words == [("For you",), ()] and Sheet.objects.valid().count() == 1


def test_a_draft_is_read_by_no_student(page: Page, cast: Cast, as_: Clients) -> None:
    page.send(note="For you", note_reader="student")
    home = reverse("student", args=[cast.student.key])
    assert "For you" not in as_("student").get(home).content.decode()
    page.send(done="1", count="2")
    assert "For you" in as_("student").get(home).content.decode()
    assert not Focus.objects.exists()
