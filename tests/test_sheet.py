"""The take-home sheet: one page, tagged, in the student's words, kept as issued, withdrawn but never changed."""

import html
import io
import logging
import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pikepdf
import pypdfium2
import pytest
import segno
from django.conf import settings
from django.test import Client, RequestFactory
from django.urls import reverse
from django.utils import timezone

from coachbook import pdf
from coachbook.accounts.models import Academy, Student
from coachbook.loop.log.save import finish_lesson
from coachbook.loop.models import Sheet
from coachbook.loop.sheets.content import content_from, weeks_left, weeks_of
from coachbook.loop.sheets.gather import content_of
from coachbook.loop.sheets.issue import find_shared, issue_sheet, share_token, shared_until, void_sheet
from coachbook.loop.sheets.views import layouts, render_no_pdf
from drills.models import Drill
from lessons.models import Fault, Focus, Lesson
from tests.conftest import Cast
from tests.crawl import pdf_text
from tests.library import load_library
from tests.make import DRAWING, academy_today, make_lesson, make_prescription

pytestmark = pytest.mark.one_database
Clients = Callable[[str], Client]
WRIST, GRIP = "putting-lead-wrist-cups", "chipping-grip-down-full"
A4, LETTER = (595, 842), (612, 792)  # points; ISO 216 and ANSI Y14.1


@pytest.fixture
def lesson(cast: Cast) -> Lesson:
    """A finished lesson of a student who putts left and chips right, with one focus in each area."""
    load_library()
    cast.student.putting_side = "left"
    cast.student.save()
    words = {"keep": "Your rhythm was calm.", "next_time": "The same putt again.", "note": "Private canary."}
    lesson = make_lesson(cast.student, cast.coach, status="complete", completed_at=timezone.now(), **words)
    work_on(lesson, 1, WRIST)
    work_on(lesson, 2, GRIP)
    return lesson


def work_on(lesson: Lesson, slot: int, code: str, **values: object) -> Focus:
    fault = Fault.objects.get(code=code)
    what = {"area": fault.skill.area, "fault": fault, **values}
    focus = Focus.objects.create(student=lesson.student, opened_in=lesson, slot=slot, **what)
    drill = fault.drills.first()
    make_prescription(lesson, focus, drill=drill, amount=12, per_week=3, days=30)
    return focus


@pytest.fixture
def sheet(lesson: Lesson) -> Sheet:
    return issue_sheet(lesson=lesson, at=timezone.now())


def address(name: str, sheet: Sheet) -> str:
    return reverse(name, args=[sheet.lesson.student.key, sheet.key])


def written(client: Client, sheet: Sheet) -> bytes:
    answer = client.get(address("sheet_pdf", sheet))
    assert answer.status_code == 200 and answer.headers["Content-Type"] == "application/pdf"
    return answer.content


# --- What stands on it --------------------------------------------------------------------------


def test_it_says_what_was_good_what_to_do_with_which_drill_and_dose(sheet: Sheet, as_: Clients) -> None:
    words = pdf_text(written(as_("student"), sheet))
    drill = Fault.objects.get(code=GRIP).drills.first()
    assert drill
    for text in (
        "Your rhythm was calm.",
        "The same putt again.",
        "12 minutes, 3 times a week, for 30 days",
        "Ida Fernkettle",
    ):
        assert text in words, text
    assert drill.mark[:25] in words and "Private canary" not in words


def test_each_area_is_read_from_its_own_side(sheet: Sheet) -> None:
    """Putts left: the hand nearer the target is the right one. Chips right: it is the left one."""
    wrist = content_from(sheet.content).focuses[0]
    fault = Fault.objects.get(code=WRIST)
    assert wrist.plain == fault.plain.replace("{lead}", "right").replace("{Lead}", "Right").replace("{trail}", "left")
    assert not re.search(r"\b(lead|trail|fault|slight|not graded)\b|\{\w+\}", str(sheet.content), re.IGNORECASE)


def test_a_trial_says_its_day_of_decision(lesson: Lesson) -> None:
    Focus.objects.filter(slot=2).update(kind="trial", what="Right hand low", decide_on=date(2026, 7, 14))
    trial = content_from(issue_sheet(lesson=lesson, at=timezone.now()).content).focuses[1]
    assert trial.heading == "Right hand low" and "Tuesday 14 July 2026" in trial.trial


def test_what_is_closed_or_belongs_to_a_draft_is_not_on_it(lesson: Lesson, cast: Cast) -> None:
    draft = make_lesson(cast.student, cast.coach, days_ago=-1)
    Focus.objects.create(student=cast.student, opened_in=draft, slot=3, reason="x", area="putting", what="From a draft")
    Focus.objects.filter(slot=2).update(closed_in=lesson)
    headings = [focus.heading for focus in content_from(issue_sheet(lesson=lesson, at=timezone.now()).content).focuses]
    assert len(headings) == 1 and "From a draft" not in headings


def test_on_paper_a_player_who_putts_left_reads_right_for_the_hand_nearer_the_target(
    lesson: Lesson, as_: Clients
) -> None:
    lesson.prescriptions.filter(drill__area="putting").update(drill=Drill.objects.get(code="putting-lead-hand-only"))
    words = pdf_text(written(as_("student"), issue_sheet(lesson=lesson, at=timezone.now())))
    assert "Right hand only" in words and "rest your left hand on your left thigh" in words
    assert not re.search(r"\b(lead|trail|fault|slight|not graded)\b|[{}]", words, re.IGNORECASE)


def test_what_a_person_typed_stays_as_typed(lesson: Lesson) -> None:
    """Even a word of the trade's, and braces that are no marker; a marker that is one is rendered."""
    lesson.keep = "No clear fault today {sic}\nSecond line"
    Focus.objects.filter(slot=1).update(feel="Push with the {lead} hand {sic}")
    Focus.objects.filter(slot=2).update(feel="Heavy {lead} hand")
    content = content_of(lesson, Academy.current())
    assert content.keep == lesson.keep
    assert [focus.feel for focus in content.focuses] == ["Push with the {lead} hand {sic}", "Heavy left hand"]


def test_a_focus_in_own_words_and_without_a_drill_is_on_it(lesson: Lesson) -> None:
    Focus.objects.filter(slot=1).update(fault=None, what="Walk in slowly", feel="")
    lesson.prescriptions.all().delete()
    content = content_of(lesson, Academy.current())
    assert (content.focuses[0].heading, content.focuses[0].drill) == ("Walk in slowly", None)
    assert content.days == 0 and weeks_of(content) == []


def test_a_focus_of_an_earlier_lesson_goes_on_with_what_this_lesson_gave(
    sheet: Sheet, lesson: Lesson, cast: Cast
) -> None:
    after = make_lesson(cast.student, cast.coach, days_ago=-7, status="complete", completed_at=timezone.now())
    Focus.objects.filter(slot=2).update(closed_in=after)
    make_prescription(after, Focus.objects.get(slot=1), drill=Drill.objects.get(code="putting-coin"))
    later, earlier = content_of(after, cast.academy), content_of(lesson, cast.academy)
    assert [focus.drill and focus.drill.name for focus in later.focuses] == ["Coin under the ball"]
    assert earlier == content_from(sheet.content), "what a later lesson closes was open after this one"


def test_a_junior_gets_the_game_and_larger_print(lesson: Lesson, cast: Cast, as_: Clients) -> None:
    Focus.objects.filter(slot=2).update(closed_in=lesson)
    coin = Drill.objects.get(code="putting-coin")
    lesson.prescriptions.filter(focus__slot=1).update(drill=coin)
    grown_up = content_of(lesson, cast.academy)
    cast.student.birth_year = lesson.session.starts_at.year - 14  # past the age of the child's sheet
    cast.student.save()
    lesson.refresh_from_db()
    child = issue_sheet(lesson=lesson, at=timezone.now())
    words = pdf_text(written(as_("guardian"), child))
    assert coin.game and coin.game in words and "a grown-up at home" in words
    assert grown_up.drills[0].game == "" and "grown-up" not in " ".join(grown_up.cautions)
    assert 'class="sheet large junior"' in next(layouts(content_from(child.content), "A4", None))


def drawn(client: Client, sheet: Sheet) -> list[tuple[str, bool]]:
    """The words of each drawing of the page, and whether its ball lies right of its middle."""
    page = client.get(address("sheet", sheet)).content.decode()
    pictures = re.findall(
        r'<svg class="drawing".*?<title>(.*?)</title>.*?<circle class="shape"[^>]* cx="([\d.]+)"', page
    )
    return [(words, float(x) > 160) for words, x in pictures]


def test_each_drill_is_drawn_for_the_side_that_is_stored_on_the_lesson(lesson: Lesson, as_: Clients) -> None:
    """The student putts left, where the target is at the right and the ball left of it, and chips right."""
    Drill.objects.update(drawing=DRAWING)
    sheet = issue_sheet(lesson=lesson, at=timezone.now())
    foot = "A tee stands in front of the ball, off the big toe of the {} foot."
    assert drawn(as_("student"), sheet) == [(foot.format("right"), False), (foot.format("left"), True)]
    data = written(as_("student"), sheet)
    assert all(words in pdf_text(data) for words in ("right foot", "left foot", "2 m"))
    with pikepdf.open(io.BytesIO(data)) as made:
        figures = [str(node.Alt) for node in made.objects if isinstance(node, pikepdf.Dictionary) and "/Alt" in node]
    assert {foot.format("right"), foot.format("left")} <= set(figures)


def test_a_drawing_stays_as_it_was_issued(lesson: Lesson, as_: Clients) -> None:
    Drill.objects.update(drawing=DRAWING)
    sheet = issue_sheet(lesson=lesson, at=timezone.now())
    before = as_("student").get(address("sheet", sheet)).content.decode().split("<article")[1]
    Drill.objects.update(drawing={**DRAWING, "words": "Changed."})
    Lesson.objects.update(putting_side="right")
    Academy.objects.update(units="ft")
    assert ">2 m<" in before and "6.5 ft" not in before
    assert as_("student").get(address("sheet", sheet)).content.decode().split("<article")[1] == before
    feet = issue_sheet(lesson=Lesson.objects.get(pk=lesson.pk), at=timezone.now())
    assert ">6.5 ft<" in as_("student").get(address("sheet", feet)).content.decode()


def test_a_drill_whose_drawing_cannot_be_drawn_has_none(lesson: Lesson, as_: Clients) -> None:
    for broken in ({}, {**DRAWING, "frame": [0, 0, 0, 0]}):
        Drill.objects.update(drawing=broken)
        sheet = issue_sheet(lesson=lesson, at=timezone.now())
        assert drawn(as_("student"), sheet) == []


def test_a_sheet_issued_before_there_were_drawings_stays_without_and_is_not_issued_again(
    lesson: Lesson, cast: Cast, as_: Clients
) -> None:
    Drill.objects.update(drawing=DRAWING)
    sheet = issue_sheet(lesson=lesson, at=timezone.now())
    for focus in sheet.content["focuses"]:
        del focus["drill"]["drawing"]
    sheet.save()
    assert drawn(as_("student"), sheet) == [] and "left foot" not in pdf_text(written(as_("student"), sheet))
    assert finish_lesson(lesson=lesson, academy=cast.academy, at=timezone.now()) == sheet
    Drill.objects.update(setup="Changed.")
    assert finish_lesson(lesson=lesson, academy=cast.academy, at=timezone.now()) != sheet


def test_the_calendar_has_a_box_for_every_day_of_the_dose(sheet: Sheet) -> None:
    content = content_from(sheet.content)
    days = [day for week in weeks_of(content) for day in week if day]
    assert [day.day for day in days] == [content.day + timedelta(days=n) for n in range(30)]
    assert {day.boxes for day in days} == {(1, 2)}


def test_a_dose_longer_than_six_weeks_says_how_it_goes_on(sheet: Sheet) -> None:
    content = content_from(sheet.content)
    focuses = tuple(replace(f, drill=f.drill and replace(f.drill, days=60)) for f in content.focuses)
    long = replace(content, focuses=focuses)
    assert len(weeks_of(long)) == 6 and weeks_left(long) == 3  # 60 days are eight weeks and four days


def test_the_calendar_is_a_plain_table_with_headers_and_empty_boxes(sheet: Sheet, as_: Clients) -> None:
    page = as_("student").get(address("sheet", sheet)).content.decode()
    assert page.count('scope="col"') == 8 and page.count('scope="row"') == 5  # week and seven days; 30 days
    assert page.count('<span class="sheet-box"></span>') == 60  # two drills
    assert ">Mon</th>" in page.split("</thead>")[0], "1 June 2026 is a Monday"


# --- The paper ----------------------------------------------------------------------------------


def test_the_boxes_show_what_was_reported_to_those_who_read_the_record_and_to_nobody_else(
    sheet: Sheet, cast: Cast, as_: Clients
) -> None:
    given = cast.student.prescriptions.order_by("pk").last()
    assert given
    given.entries.create(day=given.begins, amount=5)
    given.entries.create(day=given.begins + timedelta(days=1), amount=5, is_void=True)
    for reader in ("student", "guardian", "coach"):
        assert as_(reader).get(address("sheet", sheet)).content.decode().count("✓") == 1
    page = as_("student").get(address("sheet", sheet)).content.decode()
    assert "Tick boxes" in page and "Tick boxes" not in as_("coach").get(address("sheet", sheet)).content.decode()
    shared = as_("anonymous").get(reverse("shared_sheet", args=[share_token(sheet)])).content.decode()
    assert "✓" not in shared


@pytest.mark.parametrize(("paper", "size"), [("A4", A4), ("Letter", LETTER)])
def test_it_is_one_page_of_the_academys_paper(
    paper: str, size: tuple[int, int], sheet: Sheet, cast: Cast, as_: Clients
) -> None:
    cast.academy.paper = paper
    cast.academy.save()
    document = pypdfium2.PdfDocument(written(as_("student"), sheet))
    assert len(document) == 1
    assert tuple(round(side) for side in document[0].get_size()) == size
    document.close()


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_very_full_lesson_still_fits_one_page(paper: str, lesson: Lesson, cast: Cast, as_: Clients) -> None:
    cast.academy.paper = paper
    cast.academy.save()
    longest = max(Drill.objects.all(), key=lambda drill: sum(map(len, [*drill.steps, drill.setup, drill.caution])))
    work_on(lesson, 3, "putting-grip-apart", reason="A match")
    lesson.prescriptions.update(drill=longest)
    Lesson.objects.filter(pk=lesson.pk).update(keep="Calm rhythm, and a quiet finish. " * 8)
    lesson.refresh_from_db()
    document = pypdfium2.PdfDocument(written(as_("student"), issue_sheet(lesson=lesson, at=timezone.now())))
    assert len(document) == 1
    document.close()


def test_too_much_for_a_page_goes_on_a_second_one_and_says_so(lesson: Lesson, as_: Clients) -> None:
    Lesson.objects.filter(pk=lesson.pk).update(keep="Calm rhythm, and a quiet finish. " * 200 + "The end.")
    lesson.refresh_from_db()
    data = written(as_("student"), issue_sheet(lesson=lesson, at=timezone.now()))
    words = pdf_text(data)
    assert "This sheet has two pages" in words and "The end." in words and "Go inside at the first thunder" in words
    document = pypdfium2.PdfDocument(data)
    assert len(document) == 2
    document.close()


def test_a_usual_lesson_is_laid_out_once(sheet: Sheet) -> None:
    made: list[str] = []

    def noted(html: Iterator[str]) -> Iterator[str]:
        for draft in html:
            made.append(draft)
            yield draft

    pdf.write_pdf(noted(layouts(content_from(sheet.content), "A4", None)))
    assert len(made) == 1


def test_making_a_pdf_opens_no_file_and_asks_no_other_machine(caplog: pytest.LogCaptureFixture) -> None:
    picture = settings.BASE_DIR / "static" / "icons" / "favicon.svg"
    asked = [picture.as_uri(), "http://127.0.0.1:9/x.png"]
    images = "".join(f'<img src="{address}" alt="x">' for address in asked)
    data = pdf.write_pdf([f"<html lang=en><head><title>x</title></head><body>{images}</body></html>"])
    with pikepdf.open(io.BytesIO(data)) as made:
        assert not list(made.pages[0].Resources.XObject)
    assert all(f"disallowed protocol: {address}" in caplog.text for address in asked)


@pytest.mark.skipif(sys.platform != "linux", reason="a library is hidden in the way Linux knows")
def test_where_the_libraries_are_missing_it_says_what_to_type(tmp_path: Path) -> None:
    for name in ("libpango-1.0.so.0", "libpangoft2-1.0.so.0"):
        (tmp_path / name).write_text("no library")
    ask = [sys.executable, "-c", "from coachbook import pdf; print(pdf.problem())"]
    env = {**os.environ, "LD_LIBRARY_PATH": str(tmp_path)}
    said = subprocess.run(ask, env=env, cwd=settings.BASE_DIR, capture_output=True, text=True, check=True).stdout
    assert said.startswith("No PDF:") and "apt install libpango-1.0-0" in said and said.count("\n") == 1


def test_a_machine_without_the_libraries_offers_the_browsers_own_print(
    sheet: Sheet, cast: Cast, rf: RequestFactory
) -> None:
    request: Any = rf.get("/")
    request.user, request.academy = cast.coach.user, cast.academy
    answer = render_no_pdf(request, cast.student, sheet, "Type: apt install something")
    assert answer.status_code == 503
    assert "apt install something" in answer.content.decode() and address("sheet", sheet) in answer.content.decode()


def test_it_is_tagged_for_those_who_hear_it(sheet: Sheet, as_: Clients) -> None:
    """What ISO 14289-1 (PDF/UA-1) asks for: tags, language, title, and a table with its headers."""
    with pikepdf.open(io.BytesIO(written(as_("student"), sheet))) as pdf:
        root = pdf.Root
        assert root.MarkInfo.Marked and root.Lang == "en-GB" and root.ViewerPreferences.DisplayDocTitle
        assert "Practice sheet" in str(pdf.docinfo["/Title"])
        kinds: set[str] = set()
        waiting = [root.StructTreeRoot.K]
        while waiting:
            node = waiting.pop()
            if isinstance(node, pikepdf.Array):
                waiting += list(node)
            elif isinstance(node, pikepdf.Dictionary):
                kinds.add(str(node.get("/S", "")))
                if str(node.get("/S")) == "/Figure":
                    assert str(node.get("/Alt", "")), "every picture says what it shows"
                if "/K" in node:
                    waiting.append(node.K)
        assert {"/H1", "/H2", "/Table", "/TR", "/TH", "/TD", "/L", "/LI"} <= kinds


def test_its_fonts_are_in_it(sheet: Sheet, as_: Clients) -> None:
    with pikepdf.open(io.BytesIO(written(as_("student"), sheet))) as pdf:
        fonts = list(pdf.pages[0].Resources.Font.values())
        assert fonts
        for font in fonts:
            descriptor = font.DescendantFonts[0].FontDescriptor if "/DescendantFonts" in font else font.FontDescriptor
            assert any(name in descriptor for name in ("/FontFile", "/FontFile2", "/FontFile3"))


def test_nothing_is_complained_of_while_it_is_made(
    sheet: Sheet, as_: Clients, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.WARNING, logger="weasyprint"):
        written(as_("student"), sheet)
    assert [record.message for record in caplog.records if record.name.startswith("weasyprint")] == []


def test_the_file_carries_no_name(sheet: Sheet, as_: Clients) -> None:
    answer = as_("student").get(address("sheet_pdf", sheet))
    assert answer.headers["Content-Disposition"] == 'inline; filename="practice-sheet-2026-06-01.pdf"'
    assert answer.headers["Cache-Control"] == "no-store"


# --- As issued ----------------------------------------------------------------------------------


def test_its_words_stay_whatever_changes_later(sheet: Sheet, lesson: Lesson, as_: Clients) -> None:
    before = as_("student").get(address("sheet", sheet)).content.decode()
    Fault.objects.update(goal="Changed", plain="Changed", feel="Changed")
    Drill.objects.update(name="Changed", steps=["Changed"] * 4)
    Student.objects.update(putting_side="right", name="Somebody Else")
    Lesson.objects.update(keep="Changed", putting_side="right")
    after = as_("student").get(address("sheet", sheet)).content.decode()
    article = re.compile(r"<article.*?</article>", re.DOTALL)
    assert article.findall(before) == article.findall(after) != []


def test_a_new_issue_is_a_new_row_and_the_old_one_is_void(sheet: Sheet, lesson: Lesson) -> None:
    issue_sheet(lesson=lesson, at=timezone.now())
    sheet.refresh_from_db()
    assert sheet.voided_at and sheet.void_reason == "replaced by a newer issue"
    assert lesson.sheets.count() == 2 and lesson.sheets.valid().count() == 1


def test_a_draft_has_no_sheet(cast: Cast) -> None:
    with pytest.raises(ValueError, match="not complete"):
        issue_sheet(lesson=make_lesson(cast.student, cast.coach), at=timezone.now())


def test_stored_and_read_back_it_is_the_same(lesson: Lesson, sheet: Sheet, cast: Cast) -> None:
    sheet.refresh_from_db()
    assert content_from(sheet.content) == content_of(lesson, cast.academy)


def test_a_sheet_that_was_issued_under_the_earlier_names_keeps_all_its_words(sheet: Sheet, as_: Clients) -> None:
    earlier = sheet.content | {"said": ["Well done with the long ones"]}
    del earlier["coach_words"]
    drill = earlier["focuses"][0]["drill"]
    drill["mistake"] = "a head that lifts before the ball is gone."
    for name in ("tip", "watch_for"):
        del drill[name]
    Sheet.objects.filter(pk=sheet.pk).update(content=earlier)
    page = as_("student").get(address("sheet", sheet)).content.decode()
    assert "Well done with the long ones" in page
    assert "<strong>Watch for</strong> a head that lifts before the ball is gone." in page
    assert page.count("<strong>Tip</strong>") == page.count("<strong>Watch for</strong>") == 1


def test_withdrawing_it_never_changes_its_words(sheet: Sheet) -> None:
    before = dict(sheet.content)
    sheet.content["keep"] = "Changed in memory"
    void_sheet(sheet=sheet, reason="x", at=timezone.now())
    sheet.refresh_from_db()
    assert sheet.content["keep"] == "Your rhythm was calm." and set(sheet.content) == set(before)


# --- Withdrawn ----------------------------------------------------------------------------------


def test_a_coach_withdraws_it_with_a_reason_and_the_student_can_no_longer_read_it(sheet: Sheet, as_: Clients) -> None:
    assert as_("coach").post(address("sheet_void", sheet), {"reason": "Wrong student"}).status_code == 302
    for name in ("sheet", "sheet_pdf"):
        answer = as_("student").get(address(name, sheet))
        assert answer.status_code == 410 and "Your rhythm was calm" not in answer.content.decode()
    page = as_("coach").get(address("sheet", sheet)).content.decode()
    assert "Withdrawn" in page and "Wrong student" in page and "Your rhythm was calm" in page


def test_a_withdrawn_sheet_says_so_in_a_coachs_pdf_and_leads_a_student_to_the_newer_one(
    sheet: Sheet, lesson: Lesson, as_: Clients
) -> None:
    newer = issue_sheet(lesson=lesson, at=timezone.now())
    assert "Withdrawn" in pdf_text(written(as_("coach"), sheet))
    assert address("sheet", newer) in as_("guardian").get(address("sheet", sheet)).content.decode()
    page = as_("coach").get(address("sheet", sheet)).content.decode()
    assert share_token(sheet) not in page and address("sheet_void", sheet) not in page


@pytest.mark.parametrize(
    ("actor", "seen", "taken"),
    [("student", 200, 403), ("guardian", 200, 403), ("manager", 200, 403), ("other_coach", 404, 404)],
)
def test_who_may_read_it_and_who_may_take_it_back(
    actor: str, seen: int, taken: int, sheet: Sheet, as_: Clients
) -> None:
    assert as_(actor).get(address("sheet", sheet)).status_code == seen
    assert as_(actor).get(address("sheet_pdf", sheet)).status_code == seen
    assert as_(actor).post(address("sheet_void", sheet), {"reason": "x"}).status_code == taken
    assert as_(actor).get(address("sheet_void", sheet)).status_code == 405
    sheet.refresh_from_db()
    assert sheet.voided_at is None


def test_its_pages_cost_few_queries(sheet: Sheet, as_: Clients, django_assert_max_num_queries: Any) -> None:
    coach = as_("coach")
    for name in ("sheet", "sheet_pdf"):
        with django_assert_max_num_queries(12):
            coach.get(address(name, sheet))


def test_without_a_reason_it_stays(sheet: Sheet, as_: Clients) -> None:
    answer = as_("coach").post(address("sheet_void", sheet), {"reason": " "})
    assert answer.status_code == 422 and 'id="id_reason_error"' in answer.content.decode()
    sheet.refresh_from_db()
    assert sheet.voided_at is None


def test_withdrawn_twice_it_keeps_its_first_reason(sheet: Sheet) -> None:
    void_sheet(sheet=sheet, reason="first", at=timezone.now())
    void_sheet(sheet=sheet, reason="second", at=timezone.now())
    sheet.refresh_from_db()
    assert sheet.void_reason == "first"


def test_another_students_sheet_is_not_found_at_this_address(sheet: Sheet, cast: Cast, as_: Clients) -> None:
    stranger = reverse("sheet", args=[cast.other_student.key, sheet.key])
    assert as_("manager").get(stranger).status_code == 404


# --- Scanned ------------------------------------------------------------------------------------


def scan(sheet: Sheet, token: str = "") -> tuple[int, str]:
    answer = Client().get(reverse("shared_sheet", args=[token or share_token(sheet)]))
    assert answer.headers["Cache-Control"] == "no-store" and answer.headers["X-Robots-Tag"] == "noindex"
    return answer.status_code, answer.content.decode()


def test_the_code_opens_the_sheet_alone_under_the_first_name(sheet: Sheet) -> None:
    status, page = scan(sheet)
    assert status == 200 and "Your rhythm was calm" in page
    assert "Alder" in page and "Quimble" not in page and str(sheet.lesson.student.key) not in page


def test_the_coachs_page_shows_the_code_and_the_students_does_not(sheet: Sheet, as_: Clients) -> None:
    assert share_token(sheet) in as_("coach").get(address("sheet", sheet)).content.decode()
    assert share_token(sheet) not in as_("student").get(address("sheet", sheet)).content.decode()


def test_the_code_is_that_of_the_link_beside_it(sheet: Sheet, as_: Clients) -> None:
    page = html.unescape(as_("coach").get(address("sheet", sheet)).content.decode())
    link = "http://testserver" + reverse("shared_sheet", args=[share_token(sheet)])
    code = segno.make(link, error="m", micro=False).svg_data_uri(dark="#000", light="#fff", border=4)
    assert f'href="{link}"' in page and code in page


def test_a_shared_page_names_no_one_else_and_passes_its_address_to_no_one(sheet: Sheet, as_: Clients) -> None:
    answer = as_("coach").get(reverse("shared_sheet", args=[share_token(sheet)]))
    article = answer.content.decode().split("<main")[0]
    assert "Sign out" not in article and answer.headers["Referrer-Policy"] == "no-referrer"
    assert reverse("home") in answer.content.decode(), "from there they sign in to write practice down"


def test_a_link_lives_four_months_at_most(lesson: Lesson) -> None:
    lesson.prescriptions.update(days=365)
    sheet = issue_sheet(lesson=lesson, at=timezone.now())
    assert shared_until(sheet) == academy_today() + timedelta(days=120)


def test_a_forged_or_a_voided_token_opens_nothing(sheet: Sheet) -> None:
    token = share_token(sheet)
    forged = ("A" if token[-1] != "A" else "B").join([token[:-1], ""])
    assert scan(sheet, forged)[0] == 404
    later = token.replace(f"{shared_until(sheet):%Y%m%d}", "20991231")
    assert scan(sheet, later)[0] == 404
    void_sheet(sheet=sheet, reason="x", at=timezone.now())
    status, page = scan(sheet, token)
    assert status == 410 and "Your rhythm was calm" not in page


def test_it_opens_for_the_dose_and_a_month_and_then_no_more(sheet: Sheet) -> None:
    token, last = share_token(sheet), sheet.issued_at + timedelta(days=60)
    assert find_shared(token, last)[1]
    assert not find_shared(token, last + timedelta(days=1))[1]


@pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "Pacific/Pago_Pago"])
def test_it_opens_until_the_academy_s_last_day_is_over(zone: str, lesson: Lesson) -> None:
    """At noon in Kiritimati it is the day before in UTC; late in the evening in Pago Pago, the day after."""
    Academy.objects.update(time_zone=zone)
    sheet = issue_sheet(lesson=lesson, at=datetime(2026, 6, 1, 23, tzinfo=ZoneInfo(zone)))
    last = date(2026, 6, 1) + timedelta(days=60)
    assert shared_until(sheet) == last
    over = datetime.combine(last + timedelta(days=1), time.min, ZoneInfo(zone))
    for moment, opens in ((over - timedelta(seconds=1), True), (over, False)):
        assert find_shared(share_token(sheet), moment.astimezone(UTC))[1] == opens


def test_the_token_is_not_logged(sheet: Sheet, caplog: pytest.LogCaptureFixture) -> None:
    token = share_token(sheet)
    void_sheet(sheet=sheet, reason="x", at=timezone.now())
    scan(sheet, token)
    Client().post(reverse("shared_sheet", args=[token]))
    assert len(caplog.records) >= 2 and token not in caplog.text
