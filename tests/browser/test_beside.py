"""Arrival beside departure in a browser: two taps in each picture, a line moved by keys, and both without a script."""

from collections.abc import Callable

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Locator, Page, expect

from coachbook.accounts.models import Coach, Student
from lessons.models import Alignment, Lesson
from tests.browser.conftest import DESK, PHONE, broken_rules
from tests.make import make_checkpoint, make_lesson, make_picture, make_picture_consent, make_still

pytestmark = [pytest.mark.browser, pytest.mark.one_database, pytest.mark.usefixtures("media")]
Window = Callable[..., Page]
SignIn = Callable[[Page, str], None]
WAYS = ("across", "down")
TYPED = {"arrival": [(20, 80), (70, 80)], "departure": [(30, 70), (55, 70)]}
ONE_AND_A_HALF = "matrix(1.5 0 0 1.5 -192 8)"  # worked out by hand in tests/test_beside.py


@pytest.fixture
def address(academy: None) -> str:
    """The page of a pair: an arrival of 480 by 640 pixels, and a departure of 640 by 480."""
    student, ida = Student.objects.get(name="Gideon Puddlefern"), Coach.objects.get(user__username="ida")
    make_picture_consent(student)
    lesson: Lesson = make_lesson(student, ida, status="complete", completed_at=timezone.now())
    make_still(lesson, moment="arrival")
    make_still(lesson, moment="departure", data=make_picture(640, 480))
    return reverse("stills_beside", args=[student.key, lesson.key, make_checkpoint().key, "face_on"])


def tap(picture: Locator, across: float, down: float) -> None:
    """Tap a picture so many percent across and down."""
    picture.scroll_into_view_if_needed()
    box = picture.locator("image").bounding_box()
    assert box
    x, y = box["x"] + box["width"] * across / 100, box["y"] + box["height"] * down / 100
    picture.page.mouse.click(x, y)


def test_two_taps_in_each_picture_bring_both_to_one_scale(address: str, open_window: Window, sign_in: SignIn) -> None:
    page = open_window(size=PHONE)
    sign_in(page, "ida")
    page.goto(address)
    for moment, points in TYPED.items():
        picture = page.locator(f"[data-moment={moment}] .tapped")
        for number, point in enumerate(points, 1):
            expect(page.locator("#next-tap")).to_have_text(f"Tap point {number} in the {moment}.")
            tap(picture, *point)
            for way, value in zip(WAYS, point, strict=True):
                typed = float(page.locator(f"[name={moment}_{number}_{way}]").input_value())
                assert abs(typed - value) <= 0.4, (moment, number, way)  # a pixel of a phone
        expect(picture.locator(".mark[visibility=visible]")).to_have_count(2)
        tap(picture, 5, 5)  # a third one begins anew
        expect(picture.locator(".mark[visibility=visible]")).to_have_count(1)
        for number, point in enumerate(points, 1):
            for way, value in zip(WAYS, point, strict=True):
                page.locator(f"[name={moment}_{number}_{way}]").fill(str(value))
        expect(picture.locator(".mark[visibility=visible]")).to_have_count(2)
    page.get_by_role("button", name="Align").click()
    expect(page.locator(f'.panels image[transform="{ONE_AND_A_HALF}"]')).to_have_count(1)
    assert Alignment.objects.get().departure_points == [list(map(float, point)) for point in TYPED["departure"]]


def test_the_line_follows_the_keys(address: str, open_window: Window, sign_in: SignIn) -> None:
    page = open_window(size=DESK)
    sign_in(page, "ida")
    page.goto(address)
    expect(page.locator("#wipe-show")).to_be_hidden()
    page.locator("#wipe").focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    expect(page.locator("#wiped clipPath rect")).to_have_attribute("x", "52%")
    expect(page.locator("#wiped line")).to_have_attribute("x1", "52%")
    page.keyboard.press("Home")
    expect(page.locator("#wiped clipPath rect")).to_have_attribute("x", "0%")
    assert not broken_rules(page)


def test_all_of_it_works_without_a_script(address: str, open_window: Window, sign_in: SignIn) -> None:
    page = open_window(size=PHONE, script=False)
    sign_in(page, "ida")
    page.goto(address)
    expect(page.locator("#taps")).to_be_hidden()
    page.goto(f"{address}?wipe=30")
    page.get_by_role("button", name="Move the line").click()
    expect(page.locator("#wiped line")).to_have_attribute("x1", "30%")
    for moment, points in TYPED.items():
        for number, point in enumerate(points, 1):
            for way, value in zip(WAYS, point, strict=True):
                page.locator(f"[name={moment}_{number}_{way}]").fill(str(value))
    page.get_by_role("button", name="Align").click()
    expect(page.locator(f'.panels image[transform="{ONE_AND_A_HALF}"]')).to_have_count(1)
