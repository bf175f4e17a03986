"""A phone: a browser that is killed and opened again on the same profile, and the network between it and the server."""

import json
import os
import re
import signal
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from playwright.sync_api import BrowserContext, Error, Page, Playwright, Request, Route

from tests.kills.server import ROOT
from tests.schedules.academy import Writer
from tests.schedules.faults import FAULTS

FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync"]  # fmt: skip
PAGE = "/sources/"  # any page of somebody signed in has the outbox; this one asks little of the server
KEPT_WITHIN = 30  # seconds, on a busy machine
OUTBOX = "import('/static/js/outbox/page.js').then(({ outbox }) => "
# As the first version kept what waits: without root, count and problem, and with the moment as text.
TO_VERSION_1 = """async (name) => {
  const opened = (version, upgrade) => new Promise((resolve, reject) => {
    const asked = indexedDB.open(name, version);
    asked.onupgradeneeded = () => upgrade?.(asked.result);
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
  const now = await opened();
  const all = await new Promise((resolve) => {
    now.transaction("entries").objectStore("entries").getAll().onsuccess = ({ target }) => resolve(target.result);
  });
  now.close();
  await new Promise((resolve) => { indexedDB.deleteDatabase(name).onsuccess = resolve; });
  const old = await opened(1, (made) => made.createObjectStore("entries", { keyPath: "id", autoIncrement: true }));
  const turn = old.transaction("entries", "readwrite");
  for (const { root, problem, count, made, ...rest } of all) {
    turn.objectStore("entries").put({ ...rest, made: new Date(made).toISOString() });
  }
  await new Promise((resolve) => { turn.oncomplete = resolve; });
  old.close();
}"""


class Phone:
    """One profile; `network` says what becomes of what it sends."""

    def __init__(self, playwright: Playwright, folder: Path, server: str, chromium: str, fault: str = "") -> None:
        self.playwright, self.folder, self.server, self.chromium, self.fault = (
            playwright,
            folder,
            server,
            chromium,
            fault,
        )
        self.network = "online"
        self.held: list[Route] = []
        self.flying: set[Request] = set()  # forms that a page of now waits for
        self.most_in_flight = 0
        self.posts = 0
        self.context: BrowserContext | None = None
        self.tabs: list[Page] = []

    def open(self) -> None:
        """Open the browser on its profile, as it was left."""
        self.context = self.playwright.chromium.launch_persistent_context(
            self.folder, executable_path=self.chromium, args=FLAGS, base_url=self.server
        )
        self.context.set_default_timeout(60_000)
        self.context.on("dialog", lambda dialog: dialog.accept())  # whoever leaves a log is asked
        self.context.on("requestfailed", lambda request: self.flying.discard(request))
        self.context.route(re.compile(r"/students/|/outbox/who/"), self.answer)
        if self.fault:
            self.context.route(re.compile(r"/static/js/outbox/.*\.js"), self.break_module)
        self.tabs = []

    def kill(self) -> None:
        """End all of its processes at once, as a battery does."""
        for pid in processes_of(str(self.folder)):
            try:
                os.kill(pid, signal.SIGKILL)
            except ProcessLookupError:
                continue
        self.close()
        for name in ("SingletonLock", "SingletonCookie", "SingletonSocket"):
            (self.folder / name).unlink(missing_ok=True)

    def close(self) -> None:
        if self.context:
            with suppress(Error):
                self.context.close()
        self.context, self.tabs, self.held = None, [], []
        self.flying.clear()

    def sign_in(self, writer: Writer | None) -> None:
        """This person's session, or nobody's."""
        assert self.context
        self.context.clear_cookies(name="sessionid")
        if writer:
            self.context.add_cookies([{"name": "sessionid", "value": writer.session, "url": self.server}])

    def tab(self) -> Page:
        """One more page."""
        assert self.context
        blank = [page for page in self.context.pages if page.url == "about:blank"]
        page = blank[0] if blank else self.context.new_page()
        page.goto(PAGE, wait_until="domcontentloaded")
        self.tabs.append(page)
        return page

    def online_tab(self) -> Page:
        """One more page; the network is well until it is loaded."""
        before = self.network
        self.set_network("online")
        page = self.tab()
        self.set_network(before)
        return page

    def tab_when(self, network: str) -> None:
        """The first page after the browser was opened, and the network as it was."""
        self.network = "online"
        self.tab()
        self.set_network(network)

    def reload_when(self, network: str, page: Page) -> None:
        self.set_network("online")
        self.reload(page)
        self.set_network(network)

    def reload(self, page: Page) -> None:
        """Load the one page again; whoever waited there for an answer waits no more."""
        self.flying.clear()
        page.reload(wait_until="domcontentloaded")

    def type_log(self, page: Page, address: str, words: str, is_saved: Callable[[], bool]) -> None:
        """Open a log, type while the network is as it was, and leave the page once the words are on the phone."""
        network = self.network
        self.set_network("online")
        page.goto(address)
        self.set_network(network)
        page.get_by_label("What was good: keep it").fill(words)
        deadline = time.monotonic() + KEPT_WITHIN
        while not (is_saved() or any(["keep", words] in entry["fields"] for entry in pending(page))):
            assert time.monotonic() < deadline, "what was typed is not on the phone"
        self.set_network("online")
        page.goto(PAGE, wait_until="domcontentloaded")
        self.set_network(network)

    def start_anew(self) -> None:
        """What this schedule left goes; the browser stays open for the next one."""
        assert self.context
        self.set_network("online")
        self.flying.clear()
        for page in self.context.pages[1:]:
            page.close()
        for page in self.context.pages:
            page.goto("about:blank")
        self.tabs = []

    def set_network(self, word: str) -> None:
        """Set what becomes of requests from now on; what was slow goes on its way."""
        assert self.context
        self.network = word
        self.release()
        self.context.set_offline(word == "offline")

    def release(self) -> None:
        """Let through what is on its slow way."""
        held, self.held = self.held, []
        for route in held:
            self.pass_on(route)

    def answer(self, route: Route) -> None:
        """What becomes of one request."""
        is_post = route.request.method == "POST"
        if is_post:
            self.posts += 1
            if "outbox-key" in route.request.headers:  # an open log may save itself meanwhile
                self.flying.add(route.request)
            self.most_in_flight = max(self.most_in_flight, len(self.flying))
        if self.network == "slow" and is_post:
            self.held.append(route)
        elif self.network == "lost" and is_post:
            self.end(route, lambda: (route.fetch(max_redirects=0), route.abort()))
        elif self.network == "busy" and is_post:
            self.end(route, lambda: route.fulfill(status=503, body="busy"))
        elif self.network == "portal" or (self.network == "late portal" and is_post):
            # An answer of somebody else's, with a status of success; perhaps only after the site told who is signed in.
            self.end(route, lambda: route.fulfill(status=200, body="<h1>Welcome</h1>", content_type="text/html"))
        else:
            self.pass_on(route)

    def pass_on(self, route: Route) -> None:
        """To the server and back."""
        if route.request.method != "POST":
            return self.end(route, route.continue_)
        self.end(route, lambda: route.fulfill(response=route.fetch(max_redirects=0)))

    def end(self, route: Route, act: Callable[[], object]) -> None:
        try:
            act()
        except Error:  # the tab is gone, or the server closed the line: then there is no answer
            with suppress(Error):
                route.abort()
        finally:
            self.flying.discard(route.request)

    def break_module(self, route: Route) -> None:
        """A module with a fault in it."""
        module = (ROOT / urlsplit(route.request.url).path.lstrip("/")).read_text()
        for sound, broken in FAULTS[self.fault]:
            module = module.replace(sound, broken)
        self.end(route, lambda: route.fulfill(body=module, content_type="text/javascript"))


def processes_of(folder: str) -> list[int]:
    """The processes that name this profile."""
    found = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                words = (entry / "cmdline").read_bytes().decode(errors="replace")
            except OSError:
                continue
            if f"--user-data-dir={folder}\0" in words:
                found.append(int(entry.name))
    return found


def put(page: Page, form: dict[str, Any]) -> str:
    """Put a form in, as a page does; the key of its entry, once it is kept."""
    key: str = page.evaluate(f"(form) => {OUTBOX} outbox.put(form)).then(({{ key }}) => key)", form)
    return key


def start_sending(page: Page, *, again: bool = False) -> None:
    """Tell it to send, and do not wait."""
    page.evaluate(f"() => void {OUTBOX} outbox.send({{ again: {json.dumps(again)} }}))")


def send(page: Page) -> None:
    """Tell it to send, and wait until that is over."""
    page.evaluate(f"() => {OUTBOX} outbox.send({{ again: true }}))")


def pending(page: Page) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = page.evaluate(f"() => {OUTBOX} outbox.store.all())")
    return found


def to_version_1(page: Page, writer: Writer) -> None:
    """Bring what waits into the form of an older version, as if it had been put in before an update."""
    page.evaluate(TO_VERSION_1, f"outbox-{writer.key}")
