"""Measuring in a still in a browser: with a finger, with the keys, and with numbers typed where there is no script."""

import dataclasses
import io
import math
import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from django.urls import reverse
from PIL import Image
from playwright.sync_api import Page, expect

from coachbook.accounts.models import Coach, Student
from lessons.measuring import Frame, Kind, MeasuringError, Point, estimate, shown
from lessons.models import Observation, Still, StillMeasure
from tests.browser.conftest import DESK, PHONE, broken_rules
from tests.browser.test_pages import SMALL
from tests.make import make_lesson, make_picture_consent, make_still
from tests.measuring_scene import Scene, find_marks

pytestmark = [pytest.mark.browser, pytest.mark.one_database, pytest.mark.usefixtures("media")]
Window = Callable[..., Page]
SignIn = Callable[[Page, str], None]
PUTTER_CM = 86.0
MARKS = [(-24.0, 6.0), (23.0, 6.5), (38.0, 3.0), (38.0, 3.0 + PUTTER_CM)]
WIDTH_CM = math.dist(*MARKS[:2])
STANCE = "putting-stance-width"


@pytest.fixture
def scene() -> Scene:
    return Scene(pitch=2.0, yaw=-2.0, marks=MARKS)


@pytest.fixture
def still(scene: Scene, academy: None) -> Still:
    """A still of a drawn scene: two feet 47 cm from each other, and an upright putter."""
    file = io.BytesIO()
    Image.fromarray(scene.drawn()).convert("RGB").save(file, "PNG")
    student, ida = Student.objects.get(name="Gideon Puddlefern"), Coach.objects.get(user__username="ida")
    make_picture_consent(student)
    return make_still(make_lesson(student, ida), data=file.getvalue())


def address(still: Still) -> str:
    return reverse("still_measures", args=[still.lesson.student.key, still.lesson.key, still.key])


def table() -> list[tuple[str, list[Point], float | None]]:
    """Points of every kind, by seed; some of them cannot be measured."""
    random, cases = np.random.default_rng(42), []
    for kind in Kind:
        for number in range(30):
            points = [Point(*random.uniform([0, 0], [1200, 1600])) for _ in range(min(kind.form.least, 4))]
            if kind is Kind.BALL:
                turns, radius = np.linspace(0, 5.5, 5 + number % 4), random.uniform(5, 60)
                round_it = [Point(600 + radius * math.cos(angle), 900 + radius * math.sin(angle)) for angle in turns]
                points = [*points[:2], *(Point(at.x + random.normal(0, 1), at.y) for at in round_it)]
            if number % 10 == 9:
                points[1] = Point(points[0].x + 3, points[0].y)
            cases.append((kind.value, points, float(random.uniform(2, 200)) if kind is Kind.LENGTH else None))
    return cases


def by_python(kind: str, points: list[Point], known: float | None) -> dict[str, Any]:
    try:
        found = estimate(Kind(kind), points, Frame(1200, 1600), known)
    except MeasuringError as refusal:
        return {"refused": str(refusal)}
    told = shown(found)
    return {
        "numbers": [found.value, found.from_taps, found.from_scale, found.from_tilt],
        "words": [told.text, told.range],
    }


BY_SCRIPT = """async ([address, cases]) => {
  const {estimate, shown} = await import(address);
  return cases.map(([kind, points, known]) => {
    try {
      const found = estimate(kind, points, {width: 1200, height: 1600}, known), told = shown(found);
      return {numbers: [found.value, found.fromTaps, found.fromScale, found.fromTilt], words: [told.text, told.range]};
    } catch (refusal) { return {refused: refusal.message}; }
  });
}"""


def test_the_script_computes_what_the_server_computes(open_window: Window, academy: None) -> None:
    page = open_window()
    page.goto("/account/login/")
    cases = table()
    sent = [[kind, [dataclasses.asdict(point) for point in points], known] for kind, points, known in cases]
    found = page.evaluate(BY_SCRIPT, ["/static/js/measure.js", sent])
    refused = 0
    for case, told in zip(cases, found, strict=True):
        expected = by_python(*case)
        refused += "refused" in expected
        assert told.get("refused") == expected.get("refused") and told.get("words") == expected.get("words"), case
        assert told.get("numbers", []) == pytest.approx(expected.get("numbers", []), rel=1e-6, abs=1e-9), case
    assert 10 <= refused <= len(cases) / 2


def tap(page: Page, spot: Point) -> None:
    """Put a finger on a pixel of the picture."""
    box = page.locator("#board img").bounding_box()
    assert box
    scale = box["width"] / 1200
    page.touchscreen.tap(box["x"] + spot.x * scale, box["y"] + spot.y * scale)


def test_with_a_finger_on_a_phone(scene: Scene, still: Still, open_window: Window, sign_in: SignIn) -> None:
    page = open_window(has_touch=True)
    sign_in(page, "ida")
    page.goto(reverse("still", args=[still.lesson.student.key, still.lesson.key, still.key]))
    page.get_by_role("link", name="Measure").click()
    page.get_by_label("The known length", exact=True).fill("86 cm")
    page.locator("#board").scroll_into_view_if_needed()
    for spot in find_marks(scene.drawn(), len(MARKS)):
        tap(page, spot)
    expect(page.locator("#now")).to_have_text("4 of 4: its other end")
    page.get_by_role("button", name="One pixel to the left").click()
    page.get_by_role("button", name="One pixel to the right").click()
    low, high = map(float, re.findall(r"[\d.]+", page.locator("#range").text_content() or ""))
    assert low <= WIDTH_CM <= high
    value = page.locator("#value").inner_text()
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    assert page.evaluate(SMALL) == []
    assert broken_rules(page) == []
    page.get_by_label("Enter it as the measure of").select_option(STANCE)
    page.get_by_role("button", name="Keep it").click()
    expect(page.locator(".messages")).to_contain_text(f"Kept: Stance width: {value}. Entered in the log, on arrival.")
    expect(page.locator(".measured")).to_contain_text(value)
    assert Observation.objects.get(skill__code=STANCE).read_from == StillMeasure.objects.get()
    assert page.locator("svg .mark").count() == 2
    page.get_by_role("button", name="Take away").click()
    page.get_by_text("Taken away: 1").click()
    page.get_by_role("button", name="Put back").click()
    expect(page.locator(".measured")).to_contain_text(value)


def test_the_magnifier_shows_the_pixel_under_the_finger(
    scene: Scene, still: Still, open_window: Window, sign_in: SignIn
) -> None:
    page = open_window(size=DESK)
    sign_in(page, "ida")
    page.goto(f"{address(still)}?kind=upright")
    page.locator("#board").scroll_into_view_if_needed()
    foot = find_marks(scene.drawn(), 1)[0]
    box = page.locator("#board img").bounding_box()
    assert box
    scale = box["width"] / 1200
    page.mouse.move(box["x"] + foot.x * scale, box["y"] + foot.y * scale)
    page.mouse.down()
    glass = page.locator(".picture canvas")
    expect(glass).to_be_visible()
    grey = "glass => [...glass.getContext('2d').getImageData(glass.width / 2 + 12, glass.height / 2 + 12, 1, 1).data]"
    assert max(glass.evaluate(grey)[:3]) < 60, "the mark is nearly black, all else is light"
    page.mouse.up()
    expect(glass).to_be_hidden()
    expect(page.get_by_role("img", name="The chosen point, three times as large")).to_be_visible()


def test_with_the_keys_alone(still: Still, open_window: Window, sign_in: SignIn) -> None:
    page = open_window(size=DESK)
    sign_in(page, "ida")
    page.goto(f"{address(still)}?kind=upright")
    page.locator("#board").focus()
    page.keyboard.press("ArrowRight")  # a point that is not placed begins in the middle
    page.keyboard.press("Enter")
    for _ in range(20):
        page.keyboard.press("Shift+ArrowUp")
    for _ in range(4):
        page.keyboard.press("Shift+ArrowLeft")
    page.keyboard.press("ArrowLeft")
    placed = [page.locator(f"[name={name}]").input_value() for name in ("x0", "y0", "x1", "y1")]
    assert placed == ["601", "800", "559", "600"]
    assert page.locator("#value").inner_text() == "12°, to the left", "atan(42 / 200) = 11.9°; to about 2"
    assert broken_rules(page) == []
    page.get_by_label("What you measure").fill("spine")
    page.keyboard.press("Enter")
    expect(page.locator(".measured")).to_contain_text("Spine: 12°, to the left")
    page.get_by_role("link", name="Address").click()
    expect(page.locator(".measured")).to_contain_text("Spine: 12°, to the left")
    assert broken_rules(page) == []


def test_without_a_script_the_points_are_typed(
    scene: Scene, still: Still, open_window: Window, sign_in: SignIn
) -> None:
    page = open_window(script=False)
    sign_in(page, "ida")
    page.goto(address(still))
    for number, spot in enumerate(find_marks(scene.drawn(), len(MARKS))):
        page.locator(f"[name=x{number}]").fill(f"{spot.x:.0f}")
        page.locator(f"[name=y{number}]").fill(f"{spot.y:.0f}")
    page.get_by_label("The known length", exact=True).fill("86")
    page.get_by_role("button", name="Compute only").click()
    expect(page.locator("#value")).to_contain_text("cm")
    assert not StillMeasure.objects.exists()
    page.get_by_role("button", name="Keep it").click()
    row = StillMeasure.objects.get()
    assert row.estimate.interval[0] <= WIDTH_CM <= row.estimate.interval[1]
    assert page.locator("main").bounding_box()["width"] <= PHONE["width"]  # type: ignore[index]
