"""A child's sheet: large print, few words, today's praise, one game that one can follow, and boxes, on one page."""

import ctypes
import html
import io
import logging
import re
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import pikepdf
import pypdfium2
import pypdfium2.raw
import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coachbook.accounts.models import Academy, Student
from coachbook.loop.models import Sheet
from coachbook.loop.sheets.content import SheetContent, content_from
from coachbook.loop.sheets.gather import CHILD_CAUTION, content_of
from coachbook.loop.sheets.issue import issue_sheet, share_token
from coachbook.loop.sheets.views import pdf_of
from drills.models import Drill
from lessons.models import Fault, Focus, Lesson
from lessons.wording import render
from tests.conftest import Cast
from tests.crawl import pdf_text, read
from tests.library import load_library
from tests.make import DRAWING, make_lesson, make_prescription

pytestmark = pytest.mark.one_database
Clients = Callable[[str], Client]
WRIST, GRIP = "putting-lead-wrist-cups", "chipping-grip-down-full"
PAPERS = ["A4", "Letter"]


@pytest.fixture
def lesson(cast: Cast) -> Lesson:
    """A finished lesson of a child of nine, who putts left and chips right, with one focus in each area."""
    load_library()
    values = {"putting_side": "left", "birth_year": 2017}
    Student.objects.filter(pk=cast.student.pk).update(**values)
    cast.student.refresh_from_db()
    words = {"keep": "Keep-canary.", "next_time": "Next-canary.", "note": "Note-canary.", "note_reader": "student"}
    lesson = make_lesson(cast.student, cast.coach, status="complete", completed_at=timezone.now(), **words)
    Drill.objects.update(drawing=DRAWING)
    for slot, code in enumerate((WRIST, GRIP), 1):
        fault = Fault.objects.get(code=code)
        what = {"area": fault.skill.area, "fault": fault}
        focus = Focus.objects.create(student=lesson.student, opened_in=lesson, slot=slot, **what)
        drill = Drill.objects.get(code={1: "putting-head-gate", 2: "chipping-hands-down"}[slot])
        make_prescription(lesson, focus, drill=drill, amount=10, per_week=3, days=30)
    return lesson


def born(lesson: Lesson, years_ago: int | None) -> Lesson:
    """The lesson, with a student born so many years before it."""
    year = None if years_ago is None else lesson.session.starts_at.year - years_ago
    Student.objects.filter(pk=lesson.student_id).update(birth_year=year)
    return Lesson.objects.get(pk=lesson.pk)


def one_focus(lesson: Lesson) -> Lesson:
    Focus.objects.filter(slot=2).update(closed_in=lesson)
    return Lesson.objects.get(pk=lesson.pk)


def content(lesson: Lesson) -> SheetContent:
    return content_of(lesson, Academy.current())


def sizes(data: bytes) -> dict[int, float]:
    """The points in which each visible letter of the first page is set."""
    document = pypdfium2.PdfDocument(data)
    text = document[0].get_textpage()
    found = {}
    for index in range(text.count_chars()):
        if chr(pypdfium2.raw.FPDFText_GetUnicode(text, index)).strip():
            matrix = pypdfium2.raw.FS_MATRIX()
            assert pypdfium2.raw.FPDFText_GetMatrix(text, index, ctypes.byref(matrix))
            found[index] = pypdfium2.raw.FPDFText_GetFontSize(text, index) * abs(matrix.d)
    document.close()
    return found


def pages(data: bytes) -> int:
    document = pypdfium2.PdfDocument(data)
    count = len(document)
    document.close()
    return count


# --- Whose it is --------------------------------------------------------------------------------


@pytest.mark.parametrize(("years", "child"), [(5, True), (12, True), (13, False), (40, False), (None, False)])
def test_who_gets_it_is_a_matter_of_the_year_of_birth_and_the_lessons_day(
    years: int | None, child: bool, lesson: Lesson
) -> None:
    assert content(born(lesson, years)).child is child


def test_the_academy_says_up_to_which_age(lesson: Lesson, cast: Cast) -> None:
    Academy.objects.update(child_until=8)
    assert not content(lesson).child
    Academy.objects.update(child_until=9)
    assert content(lesson).child


def test_a_sheet_stored_before_there_was_one_reads_as_it_was(lesson: Lesson, as_: Clients) -> None:
    sheet = issue_sheet(lesson=born(lesson, 14), at=timezone.now())
    stored = {name: value for name, value in sheet.content.items() if name != "child"}
    Sheet.objects.filter(pk=sheet.pk).update(content=stored)
    assert content_from(stored).child is False
    assert "You need" in read(as_("student"), reverse("sheet", args=[lesson.student.key, sheet.key]))[0]


# --- What stands on it --------------------------------------------------------------------------


def test_it_says_what_to_do_how_it_feels_and_one_game_with_its_caution(lesson: Lesson) -> None:
    words = pdf_text(pdf_of(content(lesson), "A4"))
    for code in (WRIST, GRIP):
        assert content(lesson).focuses[code == GRIP].heading in words
        assert content(lesson).focuses[code == GRIP].feel in words
    games = [drill.game for drill in Drill.objects.exclude(game="") if drill.game[:30] in words]
    assert games == [Drill.objects.get(code="putting-head-gate").game]
    assert games[0] in words and CHILD_CAUTION in words and words.count("Take care") == 1
    assert "10 minutes, 3 times a week, for 30 days" in words and words.startswith("For Alder Quimble")


def in_order(page: str, *parts: str) -> bool:
    """Whether all parts stand on the page, one after the other."""
    places = [page.find(part) for part in parts]
    return -1 not in places and places == sorted(places)


def test_one_can_follow_it_praise_set_up_picture_score_and_caution(lesson: Lesson, as_: Clients) -> None:
    """Today's praise stands above all else; the picture is that of the game, and the only one."""
    sheet = issue_sheet(lesson=lesson, at=timezone.now())
    drill = Drill.objects.get(code="putting-head-gate")
    page = html.unescape(as_("guardian").get(reverse("sheet", args=[lesson.student.key, sheet.key])).content.decode())
    article = page.split("<article")[1].split("</article>")[0]
    game = ("Your game: Head gate", "big toe of the right foot", drill.setup, drill.game, drill.caution)
    assert in_order(article, "Keep-canary.", content(lesson).focuses[0].heading, *game, "Tick a box", CHILD_CAUTION)
    assert article.count("<svg") == 1
    words = pdf_text(pdf_of(content(lesson), "A4"))
    assert all(" ".join(text.split()) in words for text in (drill.setup, drill.game, drill.caution))
    assert "right foot" in words and "2 m" in words


def test_without_a_drawing_it_has_the_picture_of_every_sheet(lesson: Lesson) -> None:
    Drill.objects.update(drawing={})
    data = pdf_of(content(lesson), "A4")
    assert pages(data) == 1 and "right foot" not in pdf_text(data)
    with pikepdf.open(io.BytesIO(data)) as made:
        figures = [str(node.Alt) for node in made.objects if isinstance(node, pikepdf.Dictionary) and "/Alt" in node]
    assert figures == ["A ball rolls along a curve to the hole with the flag"]


def test_no_steps_no_list_of_things_no_long_words(lesson: Lesson) -> None:
    words = pdf_text(pdf_of(content(lesson), "A4"))
    for drill in Drill.objects.filter(code__in=("putting-head-gate", "chipping-hands-down")):
        for text in (*drill.steps, drill.equipment, drill.mark, drill.tip):
            assert text[:25] not in words, text
    other = Drill.objects.get(code="chipping-hands-down")
    assert other.setup[:25] not in words and other.caution[:25] not in words
    assert re.search(r"Keep.canary\.", words) and words.count("canary") == 1
    assert not re.search(r"\b(lead|trail|fault|faults|slight|not graded)\b|[{}]", words, re.IGNORECASE)


@pytest.mark.parametrize("focuses", [1, 2])
@pytest.mark.parametrize("drill", ["putting-step-in", "putting-clock"])
def test_it_holds_few_words(focuses: int, drill: str, lesson: Lesson) -> None:
    lesson.prescriptions.update(drill=Drill.objects.get(code=drill))
    words = pdf_text(pdf_of(content(one_focus(lesson) if focuses == 1 else lesson), "A4"))
    said = [word for word in words.split() if not word.isdigit()]  # without the days of the calendar
    given = Drill.objects.get(code=drill)
    followed = len(f"Set up {given.setup} Play Take care {given.caution} right foot 2 m".split())
    assert 40 < len(said) - followed <= 130
    assert len(said) <= 200


def test_a_drill_with_a_game_comes_before_one_without(lesson: Lesson) -> None:
    lesson.prescriptions.filter(focus__slot=1).update(drill=Drill.objects.get(code="putting-lead-hand-only"))
    drills = content(lesson).drills
    assert [drill.name for drill in drills] == [str(Drill.objects.get(code="chipping-hands-down"))]


def test_where_no_game_is_its_purpose_says_what_gets_better(lesson: Lesson) -> None:
    drill = Drill.objects.get(code="putting-lead-hand-only")
    lesson.prescriptions.filter(focus__slot=1).update(drill=drill)
    words = pdf_text(pdf_of(content(one_focus(lesson)), "A4"))
    assert "Your game: Right hand only" in words and drill.purpose.replace("{lead}", "right") in words


def test_where_no_game_is_its_steps_and_what_counts_can_be_followed(lesson: Lesson) -> None:
    drill = Drill.objects.exclude(steps=[]).filter(area="putting").first()
    assert drill
    Drill.objects.filter(pk=drill.pk).update(game="")
    lesson.prescriptions.filter(focus__slot=1).update(drill=drill)
    for paper in PAPERS:
        data = pdf_of(content(one_focus(lesson)), paper)
        words = pdf_text(data)
        for text in (*drill.steps, drill.setup, f"Done well {drill.mark}", drill.caution):
            assert render(text, "left") in words, text
        assert pages(data) == 1 and drill.tip not in words


def test_a_box_for_every_day_of_the_game_and_for_no_other(lesson: Lesson, as_: Clients) -> None:
    sheet = issue_sheet(lesson=lesson, at=timezone.now())
    page = as_("student").get(reverse("sheet", args=[lesson.student.key, sheet.key])).content.decode()
    assert page.count('<span class="sheet-box"></span>') == 30 and page.count('scope="col"') == 7
    assert "Mon</th>" in page and content_from(sheet.content) == content(lesson)


def test_a_trial_and_a_third_focus_do_not_make_it_longer(lesson: Lesson) -> None:
    what = {"area": "putting", "what": "Third-canary", "reason": "A match"}
    Focus.objects.create(student=lesson.student, opened_in=lesson, slot=3, **what)
    Focus.objects.filter(slot=1).update(kind="trial", what="Right hand low", decide_on="2026-07-14")
    words = pdf_text(pdf_of(content(lesson), "A4"))
    assert "Right hand low" in words and "July" not in words and "Third-canary" not in words
    assert "You work on 1 more thing that is not on this sheet." in words


def test_what_was_opened_today_comes_before_older_focuses_and_the_praise_stays(lesson: Lesson, cast: Cast) -> None:
    earlier = make_lesson(lesson.student, cast.coach, days_ago=9, status="complete", completed_at=timezone.now())
    Focus.objects.update(opened_in=earlier)
    new = Fault.objects.get(code="putting-grip-apart")
    what = {"area": "putting", "fault": new, "reason": "A match"}
    Focus.objects.create(student=lesson.student, opened_in=lesson, slot=3, **what)
    found = content(Lesson.objects.get(pk=lesson.pk))
    assert (found.focuses[0].heading, found.keep, found.more) == (new.goal, "Keep-canary.", 1)
    words = pdf_text(pdf_of(found, "A4"))
    assert new.goal in words and re.search(r"Keep.canary\.", words) and "1 more thing" in words


def test_without_anything_to_work_on_it_says_what_was_good(lesson: Lesson) -> None:
    Focus.objects.update(closed_in=lesson)
    words = pdf_text(pdf_of(content(Lesson.objects.get()), "A4"))
    assert "Keep-canary." in words and "Your game" not in words


def test_the_coachs_words_for_the_student_are_read_on_the_page_and_not_on_the_paper(
    lesson: Lesson, as_: Clients
) -> None:
    sheet = issue_sheet(lesson=lesson, at=timezone.now())
    client, where = as_("guardian"), [lesson.student.key, sheet.key]
    assert "Note-canary." in read(client, reverse("sheet", args=where))[0]
    assert "Note-canary." not in read(client, reverse("sheet_pdf", args=where))[0]


@pytest.mark.parametrize(("actor", "status"), [("student", 200), ("guardian", 200), ("other_coach", 404)])
def test_who_reads_it(actor: str, status: int, lesson: Lesson, as_: Clients) -> None:
    sheet = issue_sheet(lesson=lesson, at=timezone.now())
    for name in ("sheet", "sheet_pdf"):
        assert as_(actor).get(reverse(name, args=[lesson.student.key, sheet.key])).status_code == status


def test_behind_its_code_it_is_the_same_sheet_under_the_first_name(lesson: Lesson) -> None:
    sheet = issue_sheet(lesson=lesson, at=timezone.now())
    words, _ = read(Client(), reverse("shared_sheet", args=[share_token(sheet)]))
    assert "Alder" in words and "Quimble" not in words and "Your game" in words and "You need" not in words


# --- The paper ----------------------------------------------------------------------------------


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("focuses", [1, 2])
def test_nothing_on_it_is_smaller_than_fourteen_points(focuses: int, paper: str, lesson: Lesson) -> None:
    data = pdf_of(content(one_focus(lesson) if focuses == 1 else lesson), paper)
    found = sizes(data)
    assert pages(data) == 1 and len(found) > 200
    assert min(found.values()) >= 14
    if focuses == 1:
        assert sorted(found.values())[len(found) // 2] >= 16, "usually it is larger still"


@pytest.mark.parametrize("paper", PAPERS)
def test_the_longest_of_the_catalogue_is_one_page_of_large_print(paper: str, lesson: Lesson) -> None:
    longest = max(Drill.objects.exclude(game=""), key=lambda drill: len(drill.game + drill.setup + drill.caution))
    lesson.prescriptions.update(drill=longest, days=60, feel="")
    fault = max(Fault.objects.all(), key=lambda fault: len(fault.feel) + len(fault.goal))
    Focus.objects.update(fault=fault)
    data = pdf_of(content(Lesson.objects.get()), paper)
    assert pages(data) == 1 and min(sizes(data).values()) >= 14


def test_the_measure_of_print_can_tell_small_from_large(lesson: Lesson) -> None:
    """A grown-up's sheet is set smaller, and is found to be."""
    assert min(sizes(pdf_of(content(born(lesson, 30)), "A4")).values()) < 11


def test_too_much_typed_for_a_page_goes_on_a_second_one_and_says_so(lesson: Lesson) -> None:
    Focus.objects.update(feel="A long slow swing of the door. " * 9, fault=None, what="Quiet hands and " * 12)
    data = pdf_of(content(Lesson.objects.get()), "Letter")
    assert pages(data) == 1 or "This sheet has two pages" in pdf_text(data)
    assert min(sizes(data).values()) >= 14 and CHILD_CAUTION in pdf_text(data)


def test_it_is_tagged_with_one_picture_that_says_what_it_shows(lesson: Lesson) -> None:
    with pikepdf.open(io.BytesIO(pdf_of(content(lesson), "A4"))) as pdf:
        kinds, figures, waiting = set(), [], [pdf.Root.StructTreeRoot.K]
        while waiting:
            node = waiting.pop()
            if isinstance(node, pikepdf.Array):
                waiting += list(node)
            elif isinstance(node, pikepdf.Dictionary):
                kinds.add(str(node.get("/S", "")))
                figures += [node] if str(node.get("/S")) == "/Figure" else []
                waiting += [node.K] if "/K" in node else []
        assert len(figures) == 1 and "ball, off the big toe of the right foot" in str(figures[0].Alt)
        assert {"/H1", "/H2", "/Table", "/TH", "/TD"} <= kinds and "/L" not in kinds


def test_nothing_is_complained_of_while_it_is_made(lesson: Lesson, caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.WARNING, logger="weasyprint"):
        pdf_of(content(lesson), "A4")
    assert [record.message for record in caplog.records if record.name.startswith("weasyprint")] == []


def test_a_dose_longer_than_six_weeks_says_how_it_goes_on(lesson: Lesson) -> None:
    found = content(one_focus(lesson))
    drill = found.drills[0]
    long = replace(found, focuses=(replace(found.focuses[0], drill=replace(drill, days=60)),))
    assert "Then go on for 3 more weeks." in pdf_text(pdf_of(long, "A4"))
    assert long.drills[0].ends == long.day + timedelta(days=60)
