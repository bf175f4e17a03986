"""A real Chromium against the real server; any console error, refused style, foreign request or broken file fails."""

import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, Request, Response, sync_playwright

from coachbook.demo import people
from drills.load import load_drills
from lessons.load import load_catalogue
from tests.conftest import wait_for_requests
from tests.make import academy_today

CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip
PHONE, DESK = {"width": 360, "height": 740}, {"width": 1280, "height": 900}
LISTEN = "document.addEventListener('securitypolicyviolation', e => console.error('CSP: ' + e.violatedDirective));"


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    if not Path(CHROMIUM).is_file():
        pytest.skip("this machine lacks Chromium or what its driver needs: manage.py test says what to type")
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield chromium
        chromium.close()


class Watch:
    """What went wrong in a browser window."""

    def __init__(self, origin: str) -> None:
        self.origin = origin
        self.problems: list[str] = []

    def console(self, message: ConsoleMessage) -> None:
        refused = "status of 422" in message.text or "status of 401" in message.text  # an answer that was asked for
        if message.type in ("error", "warning") and not refused:
            self.problems.append(f"console: {message.text}")

    def request(self, request: Request) -> None:
        if not request.url.startswith((self.origin, "data:", "blob:")):
            self.problems.append(f"foreign request: {request.url}")

    def response(self, response: Response) -> None:
        if response.status >= 400 and response.status not in (401, 422):
            self.problems.append(f"{response.status}: {response.url}")


@pytest.fixture
def open_window(browser: Browser, live_server, transactional_db: None) -> Iterator[Callable[..., Page]]:  # type: ignore[no-untyped-def]
    """Windows, each with its own cookies: `open_window(script=False, size=DESK)`."""
    contexts: list[BrowserContext] = []
    watch = Watch(live_server.url)

    def window(*, script: bool = True, size: dict[str, int] = PHONE, **more: object) -> Page:
        context = browser.new_context(
            base_url=live_server.url,
            java_script_enabled=script,
            viewport=size,
            **more,  # type: ignore[arg-type]
        )
        contexts.append(context)
        if script:
            context.add_init_script(LISTEN)
        context.on("console", watch.console)
        context.on("request", watch.request)
        context.on("response", watch.response)
        context.set_default_timeout(15_000)
        return context.new_page()

    yield window
    for context in contexts:
        context.close()
    wait_for_requests()
    assert watch.problems == []


@pytest.fixture
def academy(transactional_db: None) -> None:
    """The demo academy's people and catalogue, with no lessons yet."""
    load_catalogue()
    load_drills()
    people.fill(academy_today())


@pytest.fixture
def sign_in(academy: None) -> Callable[[Page, str], None]:
    """Sign in as a person does."""

    def fill_in(page: Page, username: str) -> None:
        page.goto("/")
        page.get_by_label("E-mail or user name").fill(username)
        page.get_by_label("Password", exact=True).fill(people.PASSWORD)
        page.get_by_role("button", name="Sign in").click()

    return fill_in
