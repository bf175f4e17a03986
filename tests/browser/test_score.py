"""A test recorded on a small phone with one thumb: taps counted, nothing to scroll to, undo at hand; and no script.

The limits of taps, target sizes and screen are our own, no source.
"""

from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, Page, expect

from drills.models import Ball, ScoredTest
from tests.browser.conftest import DESK, broken_rules, wait_until_sent
from tests.browser.test_pages import SMALL

pytestmark = [pytest.mark.browser, pytest.mark.one_database]
Window = Callable[..., Page]
SignIn = Callable[[Page, str], None]
SMALL_PHONE = {"width": 360, "height": 640}
THUMB = """() => [...document.querySelectorAll('.thumb button, .thumb summary, .thumb input:not([type=hidden])')]
  .map(e => e.getBoundingClientRect()).filter(box => box.width > 0)
  .map(box => [box.width, box.height, box.top, box.bottom].map(Math.round))"""
PUTTS = ["1 step past", "Holed", "Level", "2 steps short"] * 5
# By the names that students read.
PADS = ["How close to the hole", "Through the gate", "Putts that drop", "Near and far", "Chips near the hole"]


class Taps:
    """Click and count."""

    def __init__(self) -> None:
        self.count = 0

    def __call__(self, target: Locator) -> None:
        target.click()
        self.count += 1


def to_the_tests(page: Page, student: str = "") -> None:
    """The way to a student's tests, by the address of their page."""
    if student:
        page.goto("/students/")
        page.get_by_role("link", name=student).first.click()
    else:
        page.get_by_role("link", name="My page").first.click()
    page.goto(page.url.split("?")[0] + "tests/")


def key(page: Page, name: str) -> Locator:
    return page.get_by_role("button", name=name, exact=True)


def begin(page: Page, name: str, tap: Callable[[Locator], None] = lambda target: target.click()) -> None:
    tap(page.get_by_role("link", name="Begin a test"))
    tap(page.get_by_label(name))
    tap(page.get_by_role("button", name="Begin", exact=True))
    expect(page.get_by_text("Ball 1 of")).to_be_visible()
    page.wait_for_load_state()  # before its scripts ran, a tap is a form sent without them


@pytest.mark.parametrize("script", [True, False], ids=["with a script", "without a script"])
def test_twenty_balls_with_one_thumb(script: bool, open_window: Window, sign_in: SignIn) -> None:
    page, tap = open_window(script=script, size=SMALL_PHONE), Taps()
    sign_in(page, "caspian")
    to_the_tests(page)
    begin(page, "How close to the hole", tap)
    for number, putt in enumerate(PUTTS, 1):
        expect(page.get_by_text(f"Ball {number} of 20")).to_be_visible()
        assert page.evaluate("scrollY") == 0
        tap(key(page, putt))
    expect(page.get_by_text("All 20 balls are noted.")).to_be_visible()
    tap(key(page, "Done"))
    expect(page.get_by_text("5 short, 5 level, 5 past, 5 holed")).to_be_visible()
    assert tap.count <= 26
    test = ScoredTest.objects.get()
    assert test.done_at and [ball.number for ball in test.balls.all()] == list(range(1, 21))
    assert [ball.leave_m for ball in test.balls.all()[:4]] == [0.9, None, 0.0, -1.8]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_pad_lies_under_the_thumb(scheme: str, open_window: Window, sign_in: SignIn) -> None:
    page = open_window(size=SMALL_PHONE, color_scheme=scheme)
    sign_in(page, "caspian")
    to_the_tests(page)
    tests = page.url
    for name in PADS:
        page.goto(tests)
        begin(page, name)
        for number in (2, 3, 4, 5):
            page.locator(".keys button").nth(number - 2).click()
            expect(page.get_by_text(f"Ball {number} of")).to_be_visible()
        boxes = page.evaluate(THUMB)
        assert min(min(width, height) for width, height, *_ in boxes) >= 56, name
        assert all(top >= 0 and bottom <= 640 for *_, top, bottom in boxes), (name, boxes)
        assert min(top for *_, top, _ in boxes) >= 110, f"{name}: the words above stay in sight"
        assert page.evaluate("[scrollY, document.documentElement.scrollWidth]") == [0, 360], name
        assert broken_rules(page) == []


def test_a_double_tap_is_one_ball_and_undo_takes_one(open_window: Window, sign_in: SignIn) -> None:
    page = open_window(size=SMALL_PHONE)
    sign_in(page, "caspian")
    to_the_tests(page)
    begin(page, "Through the gate")
    for number in (2, 3):
        key(page, "Through").dblclick(delay=20)
        expect(page.get_by_text(f"Ball {number} of 20")).to_be_visible()
        page.wait_for_timeout(500)
    wait_until_sent(page)
    assert Ball.objects.count() == 2
    key(page, "Undo ball 2").dblclick(delay=20)
    expect(page.get_by_text("Ball 2 of 20")).to_be_visible()
    page.wait_for_timeout(500)
    wait_until_sent(page)
    assert Ball.objects.count() == 1
    key(page, "Left").click()
    expect(page.get_by_text("2: left")).to_be_visible()
    wait_until_sent(page)
    assert Ball.objects.get(number=2).miss == "push", "Caspian putts from the left side"


def test_the_result_and_the_list_can_be_used_by_everybody(open_window: Window, sign_in: SignIn) -> None:
    page = open_window(size=SMALL_PHONE)
    sign_in(page, "caspian")
    to_the_tests(page)
    tests, found = page.url, []
    begin(page, "Through the gate")
    key(page, "Through").click()
    expect(page.get_by_text("Ball 2 of 20")).to_be_visible()
    for address in (page.url, tests, tests + "new/"):
        page.goto(address)
        found += page_problems(page)
    page.goto(tests)
    page.get_by_role("link", name="Continue").click()
    page.get_by_text("Stop here").click()
    found += page_problems(page)
    key(page, "Yes, 1 ball counts").click()
    page.get_by_text("Ball by ball").click()
    page.get_by_text("Undo this test", exact=True).click()
    found += page_problems(page)
    assert found == []
    key(page, "Yes, undo it").click()
    expect(page.get_by_text("Undone. This test no longer counts.")).to_be_visible()
    expect(page.get_by_text("No test yet.")).to_be_visible()


def page_problems(page: Page) -> list[str]:
    """What axe finds, what is too small for a thumb, and a page wider than the phone."""
    rules = [f"{page.url}: {rule}" for rule in broken_rules(page)]
    wide = page.evaluate("document.documentElement.scrollWidth") > page.evaluate("innerWidth")
    return [*rules, *page.evaluate(SMALL), *(["scrolls sideways"] if wide else [])]


def test_far_away_is_typed_and_stopping_early_is_asked_twice(open_window: Window, sign_in: SignIn) -> None:
    page = open_window(size=SMALL_PHONE)
    sign_in(page, "ida")
    to_the_tests(page, "Caspian Thornlace")
    begin(page, "Measured leaves")
    key(page, "Holed").click()
    expect(page.get_by_text("Ball 2 of 20")).to_be_visible()
    assert page.evaluate("[scrollY, Math.max(...(" + THUMB + ")().map(box => box[3])) <= 640]") == [0, True]
    page.get_by_text("Further past…").click()
    page.get_by_label("How far past? In steps").fill("far")
    key(page, "Note it").click()
    expect(page.get_by_text("Type a number, such as 5 or 4.5.")).to_be_visible()
    page.get_by_text("Further past…").click()
    page.get_by_label("How far past? In steps").fill("5")
    page.keyboard.press("Enter")
    expect(page.get_by_text("2: 5 steps past")).to_be_visible()
    page.get_by_text("Stop here").dblclick()
    expect(key(page, "Yes, 2 balls count")).to_have_count(0)
    page.get_by_text("Stop here").click()
    key(page, "Yes, 2 balls count").click()
    expect(page.get_by_text("Of 2 from 6 m: 1 past, 1 holed.")).to_be_visible()


def test_a_tap_without_a_connection_is_kept_and_the_test_goes_on(open_window: Window, sign_in: SignIn) -> None:
    page = open_window(size=SMALL_PHONE, watched=False)
    sign_in(page, "caspian")
    to_the_tests(page)
    begin(page, "Through the gate")
    page.route("**/balls/", lambda route: route.abort())
    for number, putt in enumerate(["Through", "Left", "Through"], 2):
        key(page, putt).click()
        expect(page.get_by_text(f"Ball {number} of 20")).to_be_visible()
        page.wait_for_timeout(450)  # the pad rests for a moment
    expect(page.get_by_text("3: through")).to_be_visible()
    key(page, "Undo ball 3").click()
    expect(page.get_by_text("Ball 3 of 20")).to_be_visible()
    expect(page.locator("#outbox")).to_contain_text("Not sent yet: no connection.")
    assert Ball.objects.count() == 0
    page.unroute("**/balls/")
    page.get_by_role("button", name="Send now").click()
    expect(page.get_by_role("button", name="Send now")).to_be_hidden()
    assert list(Ball.objects.values_list("number", "result")) == [(1, "through"), (2, "beside")]


def test_set_up_on_a_desk_in_the_dark(open_window: Window, sign_in: SignIn) -> None:
    page = open_window(size=DESK, color_scheme="dark")
    sign_in(page, "ida")
    to_the_tests(page, "Caspian Thornlace")
    page.get_by_role("link", name="Begin a test").click()
    page.get_by_label("Pace ladder").check()
    expect(page.get_by_text("Step over the club, never on it.")).to_be_visible()
    page.get_by_text("Other distances, balls, green").click()
    page.get_by_label("Distances (optional)").fill("3")
    page.get_by_label("Distances are in").select_option("ft")
    page.get_by_role("button", name="Begin", exact=True).click()
    expect(page.get_by_text("You typed 3 ft; did you mean 3 m?").first).to_be_visible()
    assert broken_rules(page) == []
    page.get_by_label("Keep it as I typed it").check()
    page.get_by_role("button", name="Begin", exact=True).click()
    expect(page.get_by_text("Ball 1 of 5")).to_be_visible()
