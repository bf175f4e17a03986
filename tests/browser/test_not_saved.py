"""A save that failed says so at once, where saving is shown; the words stay, and the next change sends them again."""

from collections.abc import Callable
from itertools import count

import pytest
from playwright.sync_api import Page, Route, expect

from coachbook.demo import year
from drills.models import PracticeEntry
from lessons.models import Lesson
from tests.make import academy_today

pytestmark = [pytest.mark.browser, pytest.mark.one_database]
Window = Callable[..., Page]
SignIn = Callable[[Page, str], None]
# The page is looked at again, before the next try of itself.
COME_BACK = """async () => {
  const { outbox } = await import("/static/js/outbox/page.js");
  clearTimeout(outbox.timer);
  document.dispatchEvent(new Event("visibilitychange"));
}"""
TYPED = "Calm rhythm all through"
ANSWERS = {
    400: "the server refused it",
    413: "this is more than can be saved at once",
    429: "too much was sent at once, wait a minute",
    500: "the server cannot save just now",
    502: "the server cannot save just now",
    507: "the server cannot save just now",
}


def to_a_new_log(page: Page) -> None:
    page.get_by_role("link", name="Students").first.click()
    page.get_by_role("link", name="Beatrix Mossbud").first.click()
    page.get_by_role("link", name="Log a lesson").click()
    page.wait_for_url("**/lessons/**")


def refuse_posts(page: Page, answer: Callable[[Route], object]) -> None:
    page.route("**/*", lambda route: answer(route) if route.request.method == "POST" else route.continue_())


@pytest.mark.parametrize("status", list(ANSWERS))
def test_an_answer_that_is_no_success_is_shown_and_the_next_change_tries_again(
    status: int, open_window: Window, sign_in: SignIn
) -> None:
    page = open_window(watched=False)
    sign_in(page, "ida")
    to_a_new_log(page)
    refuse_posts(page, lambda route: route.fulfill(status=status, body="<h1>Error</h1>"))
    keep = page.get_by_label("What was good: keep it")
    keep.fill(TYPED)
    expect(page.locator("#saved")).to_contain_text(f"Not saved: {ANSWERS[status]}. What you typed is still here")
    expect(page.locator("#saved")).to_be_in_viewport()
    assert keep.input_value() == TYPED and not Lesson.objects.filter(keep=TYPED).exists()
    page.unroute_all()
    page.get_by_label("Chipping").first.check()
    expect(page.locator("#saved")).to_contain_text("Saved at")
    assert Lesson.objects.filter(keep=TYPED).exists()


@pytest.mark.parametrize(
    ("answer", "words"),
    [("broken off", "Not saved: no connection."), ("none", "Perhaps not saved: no answer came.")],
    ids=["broken off", "none"],
)
def test_no_answer_is_shown_too(answer: str, words: str, open_window: Window, sign_in: SignIn) -> None:
    page = open_window(watched=False)
    sign_in(page, "ida")
    to_a_new_log(page)
    page.evaluate("htmx.config.timeout = 300")
    refuse_posts(page, lambda route: route.abort() if answer == "broken off" else None)
    page.get_by_label("What was good: keep it").fill(TYPED)
    expect(page.locator("#saved")).to_contain_text(f"{words} What you typed is still here")
    page.unroute_all(behavior="ignoreErrors")
    page.evaluate("htmx.config.timeout = 20000")  # a busy machine may take longer than the limit above
    page.get_by_label("Chipping").first.check()
    expect(page.locator("#saved")).to_contain_text("Saved at")


def test_the_list_of_what_waits_moves_no_field_under_the_thumb(open_window: Window, sign_in: SignIn) -> None:
    page = open_window(watched=False)
    sign_in(page, "ida")
    to_a_new_log(page)
    refuse_posts(page, lambda route: route.fulfill(status=502))
    top = "form => form.getBoundingClientRect().top"
    before = page.locator("#log").evaluate(top)
    page.get_by_label("Chipping").first.check()
    expect(page.locator("#outbox")).to_contain_text("1 waits on this phone")
    assert page.locator("#log").evaluate(top) == before


def test_who_leaves_a_log_whose_save_was_broken_off_is_asked_first(open_window: Window, sign_in: SignIn) -> None:
    page, asked = open_window(watched=False), []
    sign_in(page, "ida")
    to_a_new_log(page)
    refuse_posts(page, lambda route: route.abort())
    page.get_by_label("What was good: keep it").press_sequentially("Calm")
    expect(page.locator("#saved")).to_contain_text("Not saved: no connection.")
    page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.accept()))
    page.goto("/students/")
    assert asked == ["beforeunload"]


def test_practice_that_was_not_reported_says_so(open_window: Window, sign_in: SignIn) -> None:
    year.fill(academy_today())
    before = PracticeEntry.objects.count()
    page = open_window(watched=False)
    sign_in(page, "caspian")
    refuse_posts(page, lambda route: route.fulfill(status=500, body="<h1>Error</h1>"))
    page.get_by_role("button", name="Done today").first.click()
    expect(page.get_by_text("Not sent yet: the server cannot save just now.")).to_be_visible()
    assert PracticeEntry.objects.count() == before
    page.unroute_all()
    page.evaluate(COME_BACK)
    expect(page.locator("#outbox")).to_contain_text("Sent.")
    assert PracticeEntry.objects.count() == before + 1


def test_words_of_a_focus_that_could_not_be_saved_survive_a_reload(open_window: Window, sign_in: SignIn) -> None:
    page = open_window()
    sign_in(page, "ida")
    to_a_new_log(page)
    block = page.locator(".block.blank").first
    block.locator("summary").first.click()
    block.get_by_label("Or in your own words").fill("Pencil grip")
    block.get_by_label("Decision day of a trial").fill("")
    block.get_by_text("Trial", exact=True).click()
    expect(block.get_by_text("A trial needs the day on which you decide.")).to_be_visible()
    page.wait_for_timeout(800)  # the save that follows a pause in typing
    page.wait_for_load_state("networkidle")
    page.once("dialog", lambda dialog: dialog.accept())
    loads = count(1)  # what the page left waiting is sent, and the log is read again with it
    with page.expect_event("load", lambda _: next(loads) == 2):
        page.reload()
    block = page.locator("#opened .block")
    expect(block.get_by_label("Or in your own words")).to_have_value("Pencil grip")
    expect(block.get_by_text("A trial needs the day on which you decide.")).to_be_visible()
    link = page.get_by_role("link", name="Pencil grip, decision day of a trial")
    link.click()
    field, bar = block.get_by_label("Decision day of a trial").bounding_box(), page.locator("#saved").bounding_box()
    assert field and bar and field["y"] >= bar["y"] + bar["height"], "the link of an error stops below the sticky line"
