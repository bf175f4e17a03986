"""What a phone loads and waits for, in a real Chromium: a first visit, a repeat one, and a start without a network.

Slow 4G is 150 ms and 1.6 Mbps down, 750 kbps up, and a phone's processor a quarter of this one: lighthouse
docs/throttling.md, as read there.
"""

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from importlib.util import find_spec
from pathlib import Path
from typing import Any, NamedTuple

from django.conf import settings
from django.db import connections
from django.test import Client
from django.test.testcases import LiveServerThread

from coachbook.accounts.models import User

CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")
FLAGS = ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking"]
PHONE: Any = {"width": 360, "height": 740}
SLOW_4G = {"offline": False, "latency": 150, "downloadThroughput": 1.6e6 / 8, "uploadThroughput": 750e3 / 8}
SLOWER = 4  # times
# The largest paint and the layout shifts without a touch, from the page's own observers.
WATCH = """
window.paint = 0;
window.shift = 0;
const each = (hear) => new PerformanceObserver((list) => list.getEntries().forEach(hear));
const watch = (type, hear) => each(hear).observe({ type, buffered: true });
watch("largest-contentful-paint", (entry) => { paint = entry.startTime; });
watch("layout-shift", (entry) => { if (!entry.hadRecentInput) shift += entry.value; });
"""
# From the touch of a mark to the frame in which the page says that this phone has it, in milliseconds.
LISTEN = """() => {
  const saved = document.getElementById("saved");
  let begin = Infinity;
  document.addEventListener("pointerdown", (event) => { begin = event.timeStamp; }, { capture: true, once: true });
  window.heard = new Promise((resolve) => {
    new MutationObserver(() => {
      if (begin === Infinity || !saved.textContent.startsWith("Saved on this phone")) return;
      requestAnimationFrame(() => resolve(performance.now() - begin));
    }).observe(saved, { childList: true });
  });
}"""
TAPS = 9
CHOICES = "/students/choices/"
KEPT = "async () => Boolean(await (await import('/static/js/offline/kept.js')).kept())"


Sent = list[tuple[str, int]]


class Visit(NamedTuple):
    """Kilobytes of a page, those of scripts, and those sent after it; seconds to its paint; its shift.

    To the page belongs what is put in later: the choices of the skills.
    """

    all_kb: float
    script_kb: float
    later_kb: float
    paint: float
    shift: float


def problem() -> str:
    """Why there is nothing to measure with; empty where there is."""
    if find_spec("playwright") is None:
        return "playwright is not installed: see tests/requirements.txt"
    return "" if Path(CHROMIUM).is_file() else f"no Chromium at {CHROMIUM}"


@contextmanager
def served() -> Iterator[tuple[str, Sent]]:
    """The site on a port of its own, in a thread, and what it sends, as (path, bytes of the body)."""
    sent: Sent = []
    count: Any = partial(counted, sent=sent)  # any WSGI program will do
    thread = LiveServerThread("127.0.0.1", count)
    thread.daemon = True
    thread.start()
    thread.is_ready.wait()
    try:
        yield f"http://localhost:{thread.port}", sent
    finally:
        thread.terminate()


def counted(site: Any, sent: Sent) -> Callable[..., Iterator[bytes]]:
    """The site, with a note of every part that it sends."""

    def answer(environ: dict[str, Any], start: Any) -> Iterator[bytes]:
        for part in site(environ, start):
            sent.append((environ["PATH_INFO"], len(part)))
            yield part

    return answer


@contextmanager
def window(server: str, actor: str) -> Iterator[Any]:
    """A phone's window, signed in."""
    from playwright.sync_api import sync_playwright

    client = Client()
    client.force_login(User.objects.get(username=actor))
    name = settings.SESSION_COOKIE_NAME
    connections.close_all()
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        context = chromium.new_context(base_url=server, viewport=PHONE)
        context.add_cookies([{"name": name, "value": client.cookies[name].value, "url": server}])
        context.add_init_script(WATCH)
        yield context.new_page()
        chromium.close()


class Phone(NamedTuple):
    """A first visit of a page and a repeat one, milliseconds from taps to their words, seconds of a cold start."""

    first: Visit
    again: Visit
    taps: list[float]
    start: float


def on_a_phone(site: tuple[str, Sent], actor: str, address: str) -> Phone:
    """A log on Slow 4G with a slower processor; its cold start is without a network."""
    server, sent = site
    with window(server, actor) as page:
        session = page.context.new_cdp_session(page)
        session.send("Network.enable")
        session.send("Network.emulateNetworkConditions", SLOW_4G)
        session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
        first, again = (visit(page, address, sent) for _ in range(2))
        taps = [tap(page, number) for number in range(TAPS)]
        page.context.set_offline(True)
        page.goto(address)
        page.locator("#log").wait_for()
        return Phone(first, again, taps, page.evaluate("performance.now()") / 1000)


def tap(page: Any, number: int) -> float:
    """Touch a mark of a log; the milliseconds until the page says that this phone has it."""
    page.evaluate(LISTEN)
    page.locator(".panel .line:not(.good) .mark").nth(number).click()
    taken: float = page.evaluate("window.heard")
    page.get_by_text("Saved at").wait_for()
    return taken


def visit(page: Any, address: str, sent: Sent) -> Visit:
    """One visit, until the phone has all that it keeps."""
    sent.clear()
    page.goto(address)
    loaded = list(sent)
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    while not page.evaluate(KEPT):
        page.wait_for_timeout(100)
    page.wait_for_load_state("networkidle")
    paint, shift = page.evaluate("[paint / 1000, shift]")
    loaded += [row for row in sent[len(loaded) :] if row[0].startswith(CHOICES)]
    everything, scripts = kilobytes(loaded), kilobytes([row for row in loaded if row[0].endswith(".js")])
    return Visit(everything, scripts, kilobytes(sent) - everything, paint, shift)


def kilobytes(sent: Sent) -> float:
    """How much was sent."""
    return sum(size for _, size in sent) / 1024
