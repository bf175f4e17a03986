"""The sheet in a browser: the code to scan, and what comes out of the browser's own printer."""

import io
from collections.abc import Callable

import pypdfium2
import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from coachbook.accounts.models import Coach, Student
from coachbook.loop.models import Sheet
from coachbook.loop.sheets.issue import issue_sheet
from lessons.models import Fault, Focus
from tests.browser.conftest import DESK
from tests.make import make_lesson, make_prescription

pytestmark = [pytest.mark.browser, pytest.mark.one_database]
Window = Callable[..., Page]
MM = 96 / 25.4  # CSS pixels, https://www.w3.org/TR/css-values-4/#absolute-lengths


@pytest.fixture
def sheet(academy: None) -> Sheet:
    """The sheet of a lesson with two drills."""
    student, coach = Student.objects.get(name="Caspian Thornlace"), Coach.objects.get(user__username="ida")
    lesson = make_lesson(student, coach, status="complete", completed_at=timezone.now(), keep="Your rhythm was calm.")
    for slot, code in enumerate(("putting-lead-wrist-cups", "chipping-grip-down-full"), 1):
        fault = Fault.objects.get(code=code)
        focus = Focus.objects.create(student=student, opened_in=lesson, slot=slot, area=fault.skill.area, fault=fault)
        make_prescription(lesson, focus, drill=fault.drills.first(), days=35)
    return issue_sheet(lesson=lesson, at=timezone.now())


def opened(page: Page, sheet: Sheet) -> Page:
    page.goto(f"/students/{sheet.lesson.student.key}/sheets/{sheet.key}/")
    return page


def test_the_code_is_large_enough_to_scan_and_opens_the_sheet_on_another_phone(
    sheet: Sheet, open_window: Window, sign_in: Callable[[Page, str], None]
) -> None:
    page = open_window()
    sign_in(page, "ida")
    opened(page, sheet)
    code = page.get_by_role("img", name="A code to scan").bounding_box()
    assert code and min(code["width"], code["height"]) >= 37 * MM and code["x"] + code["width"] <= 360
    phone = open_window()
    phone.goto(page.locator("a.link").get_attribute("href") or "")
    expect(phone.get_by_role("heading", level=1)).to_have_text("Practice sheet for Caspian")


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_browsers_printer_gives_the_sheet_alone_on_one_page(
    paper: str, sheet: Sheet, open_window: Window, sign_in: Callable[[Page, str], None]
) -> None:
    page = open_window(size=DESK)
    sign_in(page, "ida")
    expect(opened(page, sheet).get_by_role("button", name="Print")).to_be_visible()
    document = pypdfium2.PdfDocument(io.BytesIO(page.pdf(format=paper)))
    words = document[0].get_textpage().get_text_range()
    assert len(document) == 1 and "Your rhythm was calm" in words and "Tick a box" in words
    for other in ("Give it to the student", "Withdraw", "Sign out", "Students", "/sheet/"):
        assert other not in words, other
    document.close()


def test_without_a_script_the_button_that_could_not_print_is_not_there(
    sheet: Sheet, open_window: Window, sign_in: Callable[[Page, str], None]
) -> None:
    page = open_window(script=False)
    sign_in(page, "caspian")
    expect(opened(page, sheet).get_by_role("link", name="PDF")).to_be_visible()
    expect(page.get_by_role("button", name="Print")).to_have_count(0)
