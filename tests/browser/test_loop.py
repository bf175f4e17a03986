"""The whole loop as three people, clicking and filling only; then all of it again without a script."""

import re
import time
from collections.abc import Callable
from datetime import date, timedelta

import pypdfium2
import pytest
from django.http import QueryDict
from playwright.sync_api import Locator, Page, expect

from coachbook.loop.log import views as log_views
from coachbook.loop.log.lesson_form import LessonForm
from coachbook.loop.log.save import save_log
from drills.models import Prescription
from lessons.models import SeenFault
from tests.browser.conftest import type_password
from tests.make import academy_today

pytestmark = pytest.mark.browser
Window = Callable[..., Page]
STUDENT, USERNAME = "Beatrix Mossbud", "beatrix"  # she putts and chips left
FAULT = "Lead wrist breaks down, trail hand takes over"
FORBIDDEN = re.compile(r"\b(lead|trail|fault|faults|slight|not graded)\b", re.IGNORECASE)


def to_the_log(page: Page) -> None:
    """From the coach's list to a fresh log."""
    page.goto("/students/")
    page.get_by_role("link", name=STUDENT).first.click()
    page.get_by_role("link", name="Log a lesson").click()


def look(page: Page, skill: str, moment: str, fault: str, degree: str) -> Locator:
    """Tap a degree in the row of a skill, opening the row first if need be; returns the panel."""
    row = page.locator("details.skill").filter(has=page.get_by_text(skill, exact=True))
    if row.count() and row.first.get_attribute("open") is None:
        row.first.locator(":scope > summary").click()
        page.wait_for_load_state()
        if not page.evaluate("Boolean(window.htmx)"):  # a script puts them in by itself
            row.first.get_by_role("button", name="Show the choices").click()
    panel = page.locator(".panel").filter(has=page.locator(f".what:text-is('{fault or FAULT}')")).first
    line = (
        panel.locator(".line").filter(has=page.locator(f".what:text-is('{fault}')"))
        if fault
        else panel.locator(".good")
    )
    line.locator(f".{moment} .mark").filter(has_text=degree or "good").click()
    return panel


def first_lesson(page: Page, long_ago: date) -> None:
    """What the coach writes after the first lesson."""
    to_the_log(page)
    page.get_by_text("When and where").click()
    page.get_by_label("Day", exact=True).fill(long_ago.isoformat())
    panel = look(page, "Lead wrist", "arrival", FAULT, "clear")
    look(page, "Lead wrist", "departure", "", "")
    page.get_by_label("What was good: keep it").fill("Your rhythm was calm all through")
    page.get_by_label("A note", exact=True).fill("Heron-canary: worries about her job")
    panel.get_by_role("button", name=f"Work on this {FAULT}").click()
    block = page.locator("#opened .block")
    expect(block.get_by_label("Feel, as the student reads it")).not_to_have_value("")
    expect(block.locator("[name$=drill]:checked")).not_to_have_value("")
    page.get_by_label("To look at next time").fill("The same putt from two metres")
    page.get_by_role("button", name="Finish and create the sheet").click()
    expect(page.get_by_text("The lesson is finished. This is the sheet to take home.")).to_be_visible()
    expect(page.get_by_alt_text("A code to scan", exact=False)).to_be_visible()


def practise(page: Page) -> str:
    """What the student does: sees the drill at once, taps, and follows the links. Returns the sheet's PDF address."""
    expect(page.get_by_role("button", name="Done today").first).to_be_visible()
    assert_reads_own_side(page)
    page.get_by_role("button", name="Done today").first.click()
    expect(page.get_by_role("button", name="Undo").first).to_be_visible()
    page.get_by_role("link", name="My page").first.click()
    assert_reads_own_side(page)
    page.get_by_role("link", name="Sheet").first.click()
    assert_reads_own_side(page)
    pdf = page.get_by_role("link", name="PDF").first.get_attribute("href")
    assert pdf
    return pdf


def assert_reads_own_side(page: Page) -> None:
    """No word of the trade's, no coach's note, anywhere a student reads."""
    text = page.locator("body").inner_text()
    assert not FORBIDDEN.search(text), FORBIDDEN.search(text)
    assert "Heron-canary" not in page.content()


def next_arrival(page: Page) -> None:
    """The next lesson opens with what was agreed and what was seen last time."""
    to_the_log(page)
    expect(page.get_by_role("heading", name="Open focuses")).to_be_visible()
    expect(page.get_by_text("Last time: arrival clear").first).to_be_visible()
    page.locator(".mark").filter(has_text="most").click()
    look(page, "Lead wrist", "arrival", FAULT, "slight")
    page.get_by_role("button", name="Finish and create the sheet").click()
    expect(page.get_by_text("The lesson is finished. This is the sheet to take home.")).to_be_visible()


def review(page: Page) -> None:
    """The manager goes from the table down to the student's history."""
    page.get_by_role("link", name="Ida Fernkettle").first.click()
    page.get_by_role("link", name=STUDENT).first.click()
    page.get_by_role("link", name="Progress").click()
    expect(page.get_by_text(FAULT).first).to_be_visible()
    text = page.locator("main").inner_text()
    assert "2 of" in text and "2/2" in page.content()


def test_a_button_is_not_undone_by_a_save_that_was_still_waiting(
    open_window: Window, sign_in: Callable[[Page, str], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a slow line the saves queue up: "Work on this" is pressed while one is on its way, and Finish at once."""

    slowed: list[bool] = []

    def slow_save(lesson_form: LessonForm, data: QueryDict) -> None:
        pressed = "work" in data and not slowed
        if pressed:
            slowed.append(True)
            time.sleep(1.5)  # on its way while the answer to the save before it arrives
        save_log(lesson_form, data)
        time.sleep(0 if pressed else 0.8)

    monkeypatch.setattr(log_views, "save_log", slow_save)
    page = open_window()
    sign_in(page, "ida")
    to_the_log(page)
    page.get_by_label("What was good: keep it").fill("Calm rhythm")
    page.wait_for_timeout(700)
    panel = look(page, "Lead wrist", "arrival", FAULT, "clear")
    panel.get_by_role("button", name=f"Work on this {FAULT}").click()
    look(page, "Lead wrist", "departure", FAULT, "slight")
    with page.expect_navigation():
        page.get_by_role("button", name="Finish and create the sheet").click()
    expect(page.get_by_text("The lesson is finished. This is the sheet to take home.")).to_be_visible()
    assert slowed
    assert [str(row.focus) for row in Prescription.objects.all()] == [FAULT]
    seen = SeenFault.objects.values_list("observation__look__kind", "degree")
    assert {*seen} == {("arrival", "clear"), ("departure", "slight")}


@pytest.mark.parametrize("script", [True, False], ids=["with a script", "without a script"])
def test_a_lesson_is_logged_practised_and_seen_again(script: bool, open_window: Window, academy: None) -> None:
    coach = open_window(script=script)
    type_password(coach, "ida")
    first_lesson(coach, academy_today() - timedelta(days=20))
    student = open_window(script=script)
    type_password(student, USERNAME)
    address = practise(student)
    coach.goto("/students/")
    next_arrival(coach)
    manager = open_window(script=script, size={"width": 1280, "height": 900})
    type_password(manager, "odile")
    review(manager)

    answer = student.context.request.get(address)
    assert answer.headers["content-type"] == "application/pdf"
    sheet = " ".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(answer.body()))
    assert STUDENT in sheet and "Your rhythm was calm all through" in sheet
    assert "right" in sheet and not FORBIDDEN.search(sheet), "a left-side player's lead hand is the right one"
    assert "Heron-canary" not in sheet
