"""A real Chromium against the real server; any console error, refused style, foreign request or broken file fails."""

import os
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from django.test import Client
from playwright.sync_api import (
    Browser,
    BrowserContext,
    ConsoleMessage,
    Page,
    Request,
    Response,
    expect,
    sync_playwright,
)
from pytest_django.live_server_helper import LiveServer

from coachbook.accounts.models import User
from coachbook.demo import people
from tests.conftest import wait_for_requests
from tests.library import load_library
from tests.make import academy_today

CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--use-fake-device-for-media-stream",
    "--use-fake-ui-for-media-stream",
]  # fmt: skip
PATIENCE = 20_000  # milliseconds to wait for what comes in tenths on a quiet machine
expect.set_options(timeout=PATIENCE)
PHONE, DESK = {"width": 360, "height": 740}, {"width": 1280, "height": 900}
# axe-core for WCAG 2.2 A and AA, and its best practices; what passes is not told, which halves its time.
RULES = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    "resultTypes": ["violations"],
}
LISTEN = "document.addEventListener('securitypolicyviolation', e => console.error('CSP: ' + e.violatedDirective));"


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    if not Path(CHROMIUM).is_file():
        pytest.skip("this machine lacks Chromium or what its driver needs: manage.py test says what to type")
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield chromium
        chromium.close()


ASKED_FOR = (401, 409, 422)  # sign in first, two people differ, put it right: each is shown with what to do


class Watch:
    """What went wrong in a browser window."""

    def __init__(self, origin: str) -> None:
        self.origin = origin
        self.problems: list[str] = []

    def console(self, message: ConsoleMessage) -> None:
        refused = any(f"status of {status}" in message.text for status in ASKED_FOR)
        if message.type in ("error", "warning") and not refused:
            self.problems.append(f"console: {message.text}")

    def request(self, request: Request) -> None:
        if not request.url.startswith((self.origin, "data:", "blob:")):
            self.problems.append(f"foreign request: {request.url}")

    def response(self, response: Response) -> None:
        if response.status >= 400 and response.status not in ASKED_FOR:
            self.problems.append(f"{response.status}: {response.url}")


@pytest.fixture
def open_window(browser: Browser, live_server: LiveServer, transactional_db: None) -> Iterator[Callable[..., Page]]:
    """Windows, each with its own cookies: `open_window(script=False, size=DESK)`."""
    contexts: list[BrowserContext] = []
    watch = Watch(live_server.url)

    def window(*, script: bool = True, size: dict[str, int] = PHONE, watched: bool = True, **more: object) -> Page:
        context = browser.new_context(
            base_url=live_server.url,
            java_script_enabled=script,
            viewport=size,
            **more,  # type: ignore[arg-type]
        )
        contexts.append(context)
        if script:
            context.add_init_script(LISTEN)
        if watched:  # a test that lets requests fail expects complaints
            context.on("console", watch.console)
            context.on("request", watch.request)
            context.on("response", watch.response)
        context.set_default_timeout(PATIENCE)
        return context.new_page()

    yield window
    for context in contexts:
        context.close()
    wait_for_requests()
    assert watch.problems == []


@pytest.fixture
def academy(transactional_db: None) -> None:
    """The demo academy's people and catalogue, with no lessons yet."""
    load_library()
    people.fill(academy_today())


@pytest.fixture
def sign_in(academy: None, live_server: LiveServer) -> Callable[[Page, str], None]:
    """A session made on the server's side, then the person's first page."""

    def bring_in(page: Page, username: str) -> None:
        give_session(page, User.objects.get(username=username), live_server.url)
        page.goto("/")

    return bring_in


def give_session(page: Page, user: User, server: str) -> None:
    """Sign a window in without the form, which takes three pages; `type_password` fills it in."""
    client, name = Client(), settings.SESSION_COOKIE_NAME
    client.force_login(user)
    page.context.add_cookies([{"name": name, "value": client.cookies[name].value, "url": server}])


def type_password(page: Page, username: str) -> None:
    """Sign in as a person does."""
    page.goto("/")
    page.get_by_label("E-mail or user name").fill(username)
    page.get_by_label("Password", exact=True).fill(people.PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    if username == people.username(people.MANAGER):
        page.get_by_role("heading", name="Second factor").wait_for()
        codes = people.factor_words(User.objects.get(username=username))["Recovery codes"]
        page.get_by_label("Code", exact=True).fill(codes.split()[0])
        page.get_by_role("button", name="Sign in").click()
    page.get_by_role("navigation", name="Main").wait_for()


def wait_until_sent(page: Page) -> None:
    """Wait until nothing waits on this phone."""
    waiting = "import('/static/js/outbox/page.js').then(({ outbox }) => outbox.store.all()).then((all) => all.length)"
    deadline = time.monotonic() + 30
    while page.evaluate(waiting):
        assert time.monotonic() < deadline, "something still waits"
        page.wait_for_timeout(50)


def broken_rules(page: Page) -> list[str]:
    """What axe finds on the page as it stands, each rule with the first element that breaks it."""
    size = page.viewport_size
    if size and page.locator(".finish").count():  # in sight as a whole, so that no line lies under the bar that stays
        page.set_viewport_size({**size, "height": page.evaluate("document.documentElement.scrollHeight")})
    violations = Axe().run(page, options=RULES).response["violations"]
    if size:
        page.set_viewport_size(size)
    return [f"{rule['id']}: {rule['nodes'][0]['html'][:120]}" for rule in violations]
