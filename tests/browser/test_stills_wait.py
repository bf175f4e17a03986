"""A still that could not be sent waits on the phone, outlives its page, and is kept once: in a real Chromium."""

import base64
import json
import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.core.files.storage import default_storage
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, Route, expect
from pytest_django.live_server_helper import LiveServer

from coachbook.accounts.models import Consent, Student, User
from coachbook.outbox.models import Receipt
from lessons.models import Lesson, Still
from tests.browser.conftest import PHONE, broken_rules, give_session, wait_until_sent
from tests.browser.test_taking import chosen, kept
from tests.make import make_lesson, make_picture, make_student

pytestmark = [pytest.mark.browser, pytest.mark.one_database, pytest.mark.usefixtures("media")]
Window = Callable[..., Page]
SignIn = Callable[[Page, str], None]
STRIP = "#outbox"
FULL = """() => {
  IDBObjectStore.prototype.add = () => { throw new DOMException("full", "QuotaExceededError"); };
}"""
# What waits, as version 2 of the outbox kept it: without files.
TO_VERSION_2 = """async () => {
  const { outbox } = await import("/static/js/outbox/page.js");
  const [{ files, ...old }] = await outbox.store.all();
  await outbox.store.erase();
  const asked = indexedDB.open(outbox.store.name, 2);
  const usual = { keyPath: "id", autoIncrement: true };
  asked.onupgradeneeded = () => asked.result.createObjectStore("entries", usual).add(old);
  await new Promise((resolve) => { asked.onsuccess = resolve; });
  asked.result.close();
  return Object.keys(old);
}"""
WORDS = "Still of Emeka, Address, down the line, on arrival"


@pytest.fixture
def stills_page(open_window: Window, sign_in: SignIn) -> Callable[..., Page]:
    """The page of the stills of a lesson of a child whose guardian consents; a fresh lesson, if none is named."""

    def opened(lesson: uuid.UUID | None = None, **window: Any) -> Page:
        page = open_window(watched=False, **window)
        sign_in(page, "ida")
        page.goto(reverse("stills", args=[emeka().key, lesson or uuid.uuid4()]))
        return page

    return opened


def emeka() -> Student:
    return Student.objects.get(name="Emeka Larkwren")


def reopened(page: Page, address: str = "/sources/") -> Page:
    """The page is closed without a network, and another one opened with it."""
    other = page.context.new_page()
    page.close()
    other.context.set_offline(False)
    other.goto(address)
    return other


def row(page: Page) -> Any:
    return page.locator("#on-their-way li")


def test_a_still_taken_without_a_network_outlives_its_page_and_stands_once_in_the_record(
    stills_page: Callable[..., Page],
) -> None:
    page = stills_page(size=PHONE)
    page.context.set_offline(True)
    chosen(page, make_picture(2400, 1800))
    expect(row(page)).to_contain_text(
        "not sent yet: no connection. It is sent again by itself. It is saved on this phone."
    )
    strip = page.locator(STRIP)
    expect(strip).to_contain_text("1 waits on this phone, the oldest just now")
    strip.locator("summary").click()
    expect(strip).to_contain_text(f"{WORDS}, just now.")
    assert broken_rules(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    with page.expect_download() as download:
        strip.get_by_role("button", name="Save the picture").click()
    assert download.value.path().read_bytes()[:3] == b"\xff\xd8\xff"  # JPEG (ISO/IEC 10918-1, SOI and a marker)
    with page.expect_download() as download:
        strip.get_by_role("button", name="Export").click()
    [entry] = json.loads(download.value.path().read_text())
    head, data = entry["files"][0]["picture"].split(",")
    assert (entry["words"], head) == (WORDS, "data:image/jpeg;base64") and len(base64.b64decode(data)) > 1000
    assert not Still.objects.exists()
    page = reopened(page)
    expect(page.locator(STRIP)).to_contain_text("Sent.")
    wait_until_sent(page)
    still = Still.objects.get()
    assert (str(still.checkpoint), still.view, still.moment) == ("Address", "down_line", "arrival")
    assert (still.width, still.height, still.lesson.student, still.taken_by) == (
        1600, 1200, emeka(), User.objects.get(username="ida"),
    )  # fmt: skip
    page.goto(reverse("stills", args=[emeka().key, still.lesson.key]))
    kept(page, 1)


def test_a_still_whose_answer_was_lost_is_sent_twice_and_kept_once(stills_page: Callable[..., Page]) -> None:
    page, sent = stills_page(), []

    def lose_first(route: Route) -> None:
        if route.request.method != "POST":
            return route.continue_()
        sent.append((route.request.url, route.request.headers["outbox-key"]))
        if len(sent) > 1:
            return route.continue_()
        route.fetch(max_redirects=0)
        return route.abort()

    page.context.route("**/stills/**", lose_first)
    chosen(page, make_picture())
    expect(row(page)).to_contain_text("not sent yet")
    page = reopened(page)
    wait_until_sent(page)
    assert len(sent) == 2 and len({*sent}) == 1, "the same still under the same key"
    assert str(Still.objects.get().key) == sent[0][1] and Receipt.objects.count() == 1
    assert len(default_storage.listdir("stills")[1]) == 2
    page.context.unroute_all(behavior="ignoreErrors")


def test_what_a_phone_cannot_keep_and_what_is_no_success_is_said(
    stills_page: Callable[..., Page], live_server: LiveServer
) -> None:
    page = stills_page()
    page.evaluate(FULL)
    page.route("**/stills/*/", lambda route: route.fulfill(status=200, body="<h1>Welcome</h1>"))  # another's network
    chosen(page, make_picture())
    expect(row(page)).to_contain_text("not kept: no answer of this site came.")
    expect(row(page)).to_contain_text("It is on this page only: leave the page open.")
    expect(page.locator(STRIP)).to_contain_text("This phone keeps nothing: it is full, or the browser refuses it.")
    with page.expect_download() as download:
        page.locator(STRIP).get_by_role("button", name="Export").first.click()
    assert '"picture": "data:image/jpeg;base64,' in download.value.path().read_text()
    page.unroute_all()
    give_session(page, User.objects.get(username="bram"), live_server.url)
    row(page).get_by_role("button", name="Send again").click()
    expect(row(page)).to_contain_text("you are signed out, or somebody else is signed in.")
    assert not Still.objects.exists(), "nothing is taken in another coach's name"
    give_session(page, User.objects.get(username="ida"), live_server.url)
    row(page).get_by_role("button", name="Send again").click()
    kept(page, 1)
    expect(row(page)).to_have_count(0)
    assert Still.objects.get().taken_by.username == "ida"


def test_stills_go_after_what_was_written_before_them(stills_page: Callable[..., Page]) -> None:
    lesson, sent = uuid.uuid4(), []
    page = stills_page(lesson)
    page.context.on("request", lambda request: sent.append(request.url) if request.method == "POST" else None)
    page.context.set_offline(True)
    page.get_by_role("button", name="A picture is still to come").click()
    expect(page.locator(STRIP)).to_contain_text("Still to come of Emeka")
    chosen(page, make_picture())
    expect(row(page)).to_contain_text("not sent yet: what was written before it goes first. It is saved on this phone.")
    chosen(page, make_picture(colour="tomato"))
    expect(page.locator(STRIP)).to_contain_text("3 wait")
    sent.clear()
    page = reopened(page)
    wait_until_sent(page)
    assert sent[0].endswith("/to-come/") and len(sent) == 3
    assert Still.objects.count() == 2 and not Lesson.objects.get(key=lesson).stills_to_come, "they came"


def test_what_the_server_refuses_meanwhile_is_said_and_can_be_saved_or_thrown_away(
    stills_page: Callable[..., Page],
) -> None:
    """A guardian withdraws the consent; the lesson is moved to another student; both are said when they are sent."""
    coach = User.objects.get(username="ida").coach
    lesson = make_lesson(emeka(), coach)
    page = stills_page(lesson.key)
    page.context.set_offline(True)
    chosen(page, make_picture())
    expect(page.locator(STRIP)).to_contain_text("1 waits")
    given = Consent.objects.filter(student=emeka(), purpose="photos")
    given.update(withdrawn_at=timezone.now())
    page = reopened(page)
    strip = page.locator(STRIP)
    expect(strip).to_contain_text("was not taken.")
    strip.locator("summary").click()
    expect(strip).to_contain_text("No picture of Emeka Larkwren is kept or shown: no guardian has consented.")
    expect(strip.get_by_role("button", name="Save the picture")).to_be_visible()
    expect(strip.get_by_role("button", name="Open it")).to_have_count(0)
    given.update(withdrawn_at=None)
    Lesson.objects.filter(pk=lesson.pk).update(student=make_student(coach=coach))
    strip.get_by_role("button", name="Send now").click()
    expect(strip).to_contain_text("or the lesson was moved to another")
    assert not Still.objects.exists()
    page.evaluate("() => { Blob.prototype.arrayBuffer = () => Promise.reject(new Error('gone')); }")
    strip.get_by_role("button", name="Send now").click()
    expect(strip).to_contain_text("This browser lost the picture, so it cannot be sent. Take it again.")
    strip.get_by_role("button", name="Throw away").click()
    strip.get_by_role("button", name="Really throw away?").click()
    expect(strip).not_to_contain_text("1 waits")
    wait_until_sent(page)


def test_what_an_older_version_kept_is_still_sent(stills_page: Callable[..., Page]) -> None:
    lesson = uuid.uuid4()
    page = stills_page(lesson)
    page.context.set_offline(True)
    page.get_by_role("button", name="A picture is still to come").click()
    expect(page.locator(STRIP)).to_contain_text("1 waits")
    assert "files" not in page.evaluate(TO_VERSION_2)
    page = reopened(page)
    expect(page.locator(STRIP)).to_contain_text("Sent.")
    wait_until_sent(page)
    assert Lesson.objects.get(key=lesson).stills_to_come
