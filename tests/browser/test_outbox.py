"""What a phone keeps while nothing answers, and that it is sent once: each with the real outbox in a real browser."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, Route, expect

from coachbook.demo import year
from coachbook.outbox.models import Receipt
from drills.models import PracticeEntry
from lessons.models import Lesson
from tests.browser.test_not_saved import to_a_new_log
from tests.make import academy_today

pytestmark = [pytest.mark.browser, pytest.mark.one_database]
Window = Callable[..., Page]
SignIn = Callable[[Page, str], None]
STRIP = "#outbox"


@pytest.fixture
def practised(academy: None) -> None:
    """Drills for today, without the reports of the year so far."""
    year.fill(academy_today())


def done(page: Page) -> None:
    page.get_by_role("button", name="Done today").first.click()


def is_post(route: Route) -> bool:
    return route.request.method == "POST"


def test_practice_is_kept_without_a_network_and_sent_once_with_it(
    practised: None, open_window: Window, sign_in: SignIn
) -> None:
    before = PracticeEntry.objects.count()
    page = open_window(watched=False)
    sign_in(page, "caspian")
    page.context.set_offline(True)
    done(page)
    expect(page.locator(STRIP)).to_contain_text("Saved on this phone. Not sent yet: no connection.")
    expect(page.locator(STRIP)).to_contain_text("1 waits on this phone, the oldest just now")
    done(page)  # in doubt, a second time
    expect(page.locator(STRIP)).to_contain_text("1 waits")
    assert PracticeEntry.objects.count() == before
    page.context.set_offline(False)
    page.get_by_role("button", name="Send now").click()
    expect(page.locator(STRIP)).to_contain_text("Sent. Reported for today")
    expect(page.get_by_text("Reported today:").first).to_be_visible()
    expect(page.get_by_role("button", name="Send now")).to_be_hidden()
    assert PracticeEntry.objects.count() == before + 1 and Receipt.objects.count() == 1


def test_a_log_is_kept_while_the_network_is_off_and_finished_with_it(
    academy: None, open_window: Window, sign_in: SignIn
) -> None:
    page = open_window(watched=False)
    sign_in(page, "ida")
    to_a_new_log(page)
    page.context.set_offline(True)
    page.get_by_label("What was good: keep it").fill("Calm rhythm")
    expect(page.locator("#saved")).to_contain_text("saved on this phone")
    expect(page.locator(STRIP)).to_contain_text("Log of Beatrix")
    page.get_by_label("Chipping").first.check()
    page.get_by_role("button", name="Finish and create the sheet").click()
    expect(page.locator(STRIP)).to_contain_text("Not sent yet: no connection.")
    assert not Lesson.objects.exists()
    page.context.set_offline(False)
    page.get_by_role("button", name="Send now").click()
    page.wait_for_url("**/sheets/**")
    expect(page.get_by_text("The lesson is finished.")).to_be_visible()
    expect(page.locator(STRIP)).to_be_hidden()
    lesson = Lesson.objects.get()
    assert (lesson.status, lesson.keep) == ("complete", "Calm rhythm")


def test_a_log_whose_page_is_gone_is_sent_by_the_next_page(academy: None, open_window: Window, sign_in: SignIn) -> None:
    page = open_window(watched=False)
    sign_in(page, "ida")
    to_a_new_log(page)
    refuse = lambda route: route.abort() if is_post(route) else route.continue_()  # noqa: E731
    page.route("**/*", refuse)
    page.get_by_label("What was good: keep it").fill("Calm rhythm")
    expect(page.locator(STRIP)).to_contain_text("Log of Beatrix")
    page.unroute_all()
    page.on("dialog", lambda dialog: dialog.accept())
    page.goto("/students/")
    expect(page.locator(STRIP)).to_contain_text("Sent.")
    assert Lesson.objects.get().keep == "Calm rhythm"
