"""Pages without a network, in a real Chromium whose network is off: what is written there reaches the server once."""

from collections.abc import Callable

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from coachbook.accounts.models import Student, User
from coachbook.diary.models import Appointment
from lessons.models import Focus, Lesson, SeenFault

pytestmark = pytest.mark.browser
Window = Callable[..., Page]
SignIn = Callable[[Page, str], None]
KEEP, NEXT = "Your rhythm was calm – all through", "The same putt from 2 m"
FAULT = "Lead wrist breaks down, trail hand takes over"
KEPT = "async () => (await import('/static/js/offline/kept.js')).kept()"


def plan_today(username: str, coach: str = "ida") -> Student:
    """An appointment of now for a student of the demo's."""
    user = User.objects.get(username=coach)
    student = Student.objects.get(user__username=username)
    row = Appointment.objects.create(coach=user.coach, starts_at=timezone.now(), minutes=60, made_by=user)
    row.students.add(student)
    return student


def keep_what_is_needed(page: Page) -> None:
    """Wait until the worker controls the page and the phone has what it needs."""
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.wait_for_function("navigator.serviceWorker.controller !== null")
    expect_kept(page)


def expect_kept(page: Page) -> None:
    for _ in range(100):
        if page.evaluate(KEPT):
            return
        page.wait_for_timeout(50)
    raise AssertionError("nothing is kept")


def cut(page: Page, *, off: bool = True) -> None:
    """Switch the network of a window off or on."""
    page.context.set_offline(off)


def look(page: Page, skill: str, moment: str, fault: str, degree: str) -> None:
    """Tap a degree in the row of a skill, or *good* where no fault is named."""
    row = page.locator("details.skill").filter(has=page.get_by_text(skill, exact=True)).first
    if row.get_attribute("open") is None:
        row.locator(":scope > summary").click()
    line = row.locator(".line").filter(has=page.locator(f".what:text-is('{fault}')")) if fault else row.locator(".good")
    line.locator(f".{moment} .mark").filter(has_text=degree or "good").click()


def write_a_log(page: Page, name: str) -> None:
    """From the day's list to a finished log and its provisional sheet."""
    page.goto("/diary/")
    page.get_by_role("link", name=f"Log a lesson of {name}").click()
    look(page, "Lead wrist", "arrival", FAULT, "clear")
    look(page, "Lead wrist", "departure", "", "")
    page.get_by_role("button", name=f"Work on this {FAULT}").click()
    block = page.locator("#opened .block")
    expect(block.get_by_label("Feel, as the student reads it")).not_to_have_value("")
    page.get_by_label("What was good: keep it").fill(KEEP)
    page.get_by_label("To look at next time").fill(NEXT)
    page.get_by_role("button", name="Finish and create the sheet").click()
    expect(page.get_by_role("heading", name=name)).to_be_visible()


def test_a_whole_log_is_written_without_a_network(open_window: Window, sign_in: SignIn) -> None:
    page = open_window(watched=False)
    sign_in(page, "ida")
    student = plan_today("beatrix")
    page.reload()
    keep_what_is_needed(page)
    cut(page)
    write_a_log(page, "Beatrix M.")
    sheet = page.locator("article.sheet")
    expect(sheet).to_contain_text(KEEP)
    expect(sheet).to_contain_text(FAULT)
    expect(sheet).to_contain_text(NEXT)
    expect(page.get_by_text("This sheet is provisional")).to_be_visible()
    assert not Lesson.objects.exists()
    cut(page, off=False)
    expect(page.locator("#outbox")).to_contain_text("Sent.")
    [lesson] = Lesson.objects.all()
    assert (lesson.student, lesson.status, lesson.keep, lesson.next_time) == (student, "complete", KEEP, NEXT)
    seen = SeenFault.objects.values_list("observation__look__kind", "degree")
    assert {*seen} == {("arrival", "clear")}
    [focus] = Focus.objects.all()
    assert str(focus) == FAULT
    assert focus.prescriptions.count() == 1
