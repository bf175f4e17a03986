"""The chart to zoom into, in a real Chromium, under the site's own content security policy."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

import pytest
from django.urls import reverse
from playwright.sync_api import Browser, ConsoleMessage, Page, Request
from pytest_django.live_server_helper import LiveServer

from lessons.models import Fault
from tests.browser.conftest import LISTEN, give_session
from tests.conftest import Cast, wait_for_requests
from tests.make import make_fault, make_skill
from tests.test_progress import look_at, open_focus, weeks

pytestmark = [pytest.mark.browser, pytest.mark.one_database]


@dataclass
class Visit:
    """A page somebody looks at, and all that it asked for or complained of."""

    page: Page
    server: str
    asked: list[str] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)

    def note_request(self, request: Request) -> None:
        self.asked.append(request.url)

    def note_console(self, message: ConsoleMessage) -> None:
        if message.type in ("error", "warning"):
            self.complaints.append(message.text)

    def foreign(self) -> list[str]:
        return [url for url in self.asked if not url.startswith((self.server, "data:", "blob:"))]


Visits = Callable[..., Visit]


@pytest.fixture
def visit(live_server: LiveServer, cast: Cast, browser: Browser) -> Iterator[Visits]:
    """Open the site as one of the cast; what stands open is closed before the database is emptied."""
    contexts = []

    def signed_in(actor: str, **options: object) -> Visit:
        context = browser.new_context(**options)  # type: ignore[arg-type]
        contexts.append(context)
        context.add_init_script(LISTEN)
        seen = Visit(context.new_page(), live_server.url)
        give_session(seen.page, cast.user(actor), live_server.url)
        seen.page.on("request", seen.note_request)
        seen.page.on("console", seen.note_console)
        seen.page.on("pageerror", lambda error: seen.complaints.append(str(error)))
        return seen

    yield signed_in
    for context in contexts:
        context.close()
    wait_for_requests()


@pytest.fixture
def grip(cast: Cast) -> Fault:
    """A fault with fourteen arrivals and three departures behind it, a focus since the second."""
    fault = make_fault(make_skill())
    lessons = weeks(cast, "mm-smuscc-sccc", fault)
    for lesson, letter in zip(lessons, "csu", strict=False):
        look_at(lesson, letter, fault, "departure")
    open_focus(lessons[1], fault)
    return fault


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_chart_draws_and_nothing_is_refused(
    scheme: str, visit: Visits, live_server: LiveServer, cast: Cast, grip: Fault
) -> None:
    seen = visit("coach", color_scheme=scheme, viewport={"width": 360, "height": 740})
    seen.page.goto(live_server.url + reverse("progress_explore", args=[cast.student.key, grip.pk]))
    seen.page.wait_for_selector("#chart .main-svg")
    bars = seen.page.locator("#chart .barlayer .point")
    points = seen.page.locator("#chart .scatterlayer .point")
    assert bars.count() == 6  # slight and clear
    assert points.count() == 5 + 1 + 2 + 3 + 12  # good, not graded, no look, departures, the rate at twelve looks
    assert seen.page.locator("#chart .scatterlayer .fills path").first.get_attribute("d")  # the band
    paper = seen.page.evaluate("getComputedStyle(document.documentElement).backgroundColor")
    drawn = seen.page.evaluate("getComputedStyle(document.querySelector('#chart .main-svg')).backgroundColor")
    assert drawn == paper
    assert seen.page.evaluate("Plotly.toImage('chart', {format: 'png'})").startswith("data:image/png")
    assert seen.page.evaluate("document.documentElement.scrollWidth") == 360
    assert (seen.complaints, seen.foreign()) == ([], [])


def test_one_can_zoom_and_come_back_and_nothing_is_shared(
    visit: Visits, live_server: LiveServer, cast: Cast, grip: Fault
) -> None:
    seen = visit("coach", viewport={"width": 1280, "height": 900})
    seen.page.goto(live_server.url + reverse("progress_explore", args=[cast.student.key, grip.pk]))
    shown = "(([first, last]) => last - first)(document.getElementById('chart').layout.xaxis.range)"
    seen.page.get_by_role("button", name="Zoom in").click()
    seen.page.wait_for_function(f"{shown} < 10")
    seen.page.get_by_role("button", name="Reset axes").click()
    seen.page.wait_for_function(f"{shown} > 13")
    assert seen.page.get_by_role("button", name="Share").count() == 0
    seen.page.locator("#chart .barlayer .point").first.hover(force=True)
    seen.page.wait_for_selector("#chart .hovertext")
    assert (seen.complaints, seen.foreign()) == ([], [])


def test_the_page_stands_still_while_the_chart_comes(
    visit: Visits, live_server: LiveServer, cast: Cast, grip: Fault
) -> None:
    address = live_server.url + reverse("progress_explore", args=[cast.student.key, grip.pk])
    waiting, drawn = visit("coach"), visit("coach")
    waiting.page.route("**/plotly*.js", lambda route: route.abort())
    for seen in (waiting, drawn):
        seen.page.goto(address)
    drawn.page.wait_for_selector("#chart .main-svg")
    places = [seen.page.locator(part).bounding_box() for seen in (waiting, drawn) for part in ("#chart", ".foot")]
    assert places[:2] == places[2:]


def test_a_thumb_scrolls_past_the_chart(visit: Visits, live_server: LiveServer, cast: Cast, grip: Fault) -> None:
    seen = visit("coach", viewport={"width": 360, "height": 640}, has_touch=True, is_mobile=True)
    seen.page.goto(live_server.url + reverse("progress_explore", args=[cast.student.key, grip.pk]))
    seen.page.wait_for_selector("#chart .nsewdrag")
    seen.page.evaluate("document.getElementById('chart').scrollIntoView({block: 'center'})")
    before, box = seen.page.evaluate("scrollY"), seen.page.locator("#chart .nsewdrag").first.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + 20
    wire = seen.page.context.new_cdp_session(seen.page)
    wire.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
    for step in range(1, 11):
        wire.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [{"x": x, "y": y + 15 * step}]})
    wire.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    seen.page.wait_for_function(f"scrollY < {before} - 50")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_without_a_script_the_picture_and_the_numbers_are_there(
    scheme: str, visit: Visits, live_server: LiveServer, cast: Cast, grip: Fault
) -> None:
    for actor in ("coach", "student"):
        seen = visit(actor, java_script_enabled=False, color_scheme=scheme)
        seen.page.goto(live_server.url + reverse("progress_explore", args=[cast.student.key, grip.pk]))
        assert seen.page.locator("svg.history").is_visible()
        seen.page.locator("main details summary").first.click()
        assert seen.page.locator("table.arrivals tbody tr").count() == 14
        charts = seen.page.locator("#chart")
        assert charts.count() == (actor == "coach") and all(box.bounding_box()["height"] < 120 for box in charts.all())
