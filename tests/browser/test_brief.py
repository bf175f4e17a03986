"""The brief on a small phone: what was agreed, practised and to be looked at first, without scrolling."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from coachbook.accounts.models import Coach, Student
from drills.models import Drill
from lessons.models import Fault, Lesson, Session
from tests.browser.conftest import DESK, broken_rules
from tests.browser.test_pages import SMALL
from tests.make import academy_today, make_lesson, make_prescription, this_time
from tests.test_progress import DONE, look_at, open_focus

pytestmark = [pytest.mark.browser, pytest.mark.one_database]
Window = Callable[..., Page]
SignIn = Callable[[Page, str], None]
SMALL_PHONE = {"width": 360, "height": 640}
STUDENT = "Gideon Puddlefern"
EYES, RUSHED = "putting-finish-eyes-early", "putting-tempo-rushed"


def visit(student: Student, coach: Coach, days_ago: int, **values: Any) -> Lesson:
    """A finished lesson so many days before this one."""
    lesson = make_lesson(student, coach, **{**DONE, **values})
    Session.objects.filter(pk=lesson.session_id).update(starts_at=this_time(days_ago=days_ago))
    lesson.refresh_from_db()
    return lesson


@pytest.fixture
def two_focuses(academy: None) -> Student:
    """Looks up early, which changes in the lesson and does not hold, and a rushed change of direction."""
    student, ida = Student.objects.get(name=STUDENT), Coach.objects.get(user__username="ida")
    eyes, rushed = (Fault.objects.get(code=code) for code in (EYES, RUSHED))
    lessons = [visit(student, ida, days, next_time="Try the lead hand alone") for days in (42, 35, 28, 21, 14, 7)]
    for lesson in lessons:
        look_at(lesson, "m", eyes)
        look_at(lesson, "c", eyes, "departure")
        look_at(lesson, "m", rushed)
    for slot, (fault, code) in enumerate(((rushed, "putting-four-beats"), (eyes, "putting-guess-leave")), 1):
        focus = open_focus(lessons[0], fault, slot)
        drill = Drill.objects.get(code=code)
        make_prescription(lessons[-1], focus, drill=drill, begins=academy_today() - timedelta(days=7))
    return student


def to_the_brief(page: Page) -> None:
    """From the coach's list."""
    page.goto("/students/")
    page.get_by_role("link", name=STUDENT).first.click()
    page.get_by_role("link", name="Brief", exact=True).click()


def bottom(found: Locator) -> float:
    box = found.bounding_box()
    assert box
    return box["y"] + box["height"]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_two_focuses_the_practice_and_the_plan_are_read_without_scrolling(
    scheme: str, two_focuses: Student, open_window: Window, sign_in: SignIn
) -> None:
    page = open_window(size=SMALL_PHONE, color_scheme=scheme)
    sign_in(page, "ida")
    to_the_brief(page)
    button = page.get_by_role("link", name="Log a lesson")
    fold = page.locator(".reach").bounding_box()
    assert fold
    focuses = page.locator(".agreed > li")
    expect(focuses).to_have_count(2)
    expect(focuses.first).to_contain_text("Looks up early")
    expect(focuses.first).to_contain_text("Look first. Does not hold")
    expect(page.get_by_text("not reported (6 given)")).to_be_in_viewport(ratio=1)
    expect(page.get_by_text("Try the lead hand alone")).to_be_in_viewport(ratio=1)
    assert bottom(focuses.last) <= fold["y"]
    page.evaluate("scrollTo(0, document.body.scrollHeight / 2)")
    expect(button).to_be_in_viewport(ratio=1)
    button.click()
    expect(page.get_by_role("heading", name=STUDENT)).to_be_visible()


@pytest.mark.parametrize(("size", "scheme"), [(SMALL_PHONE, "light"), (SMALL_PHONE, "dark"), (DESK, "dark")])
def test_everybody_can_use_it_however_much_it_says(
    size: dict[str, int], scheme: str, two_focuses: Student, open_window: Window, sign_in: SignIn
) -> None:
    Student.objects.filter(pk=two_focuses.pk).update(limits="Left shoulder, " * 10)
    last = two_focuses.lessons.latest("session__starts_at")
    Lesson.objects.filter(pk=last.pk).update(note="onelongword" * 20)
    make_lesson(two_focuses, Coach.objects.get(user__username="ida"))
    page = open_window(size=size, color_scheme=scheme)
    sign_in(page, "ida")
    to_the_brief(page)
    page.get_by_text("What the words mean").click()
    assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
    assert page.evaluate(SMALL) == []
    assert broken_rules(page) == []


def test_whoever_tabs_through_it_sees_where_they_are(
    two_focuses: Student, open_window: Window, sign_in: SignIn
) -> None:
    """WCAG 2.2, 2.4.11: what has the focus is not hidden by what sticks to the edge."""
    page = open_window(size=SMALL_PHONE)
    sign_in(page, "ida")
    to_the_brief(page)
    fold = page.locator(".reach").bounding_box()
    assert fold
    summary = page.locator("main summary")
    while not summary.evaluate("e => e === document.activeElement"):
        page.keyboard.press("Tab")
    box = summary.bounding_box()
    assert box and box["y"] + box["height"] <= fold["y"]
